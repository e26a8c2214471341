"""Pinfold: a purchase archive and licence vault for digital craft patterns."""

__version__ = "0.1.0"
