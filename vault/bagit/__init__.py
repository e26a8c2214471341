"""BagIt 1.0 (RFC 8493): bags built and bags checked, two sides that do not trust each other.

| module | holds |
|---|---|
| `paths` | the lowest helpers: percent-encoding of file paths, which paths stay inside a bag |
| `builder` | payload and tag files in, a bag out |
| `tagfiles` | strict reading of bag declaration, manifests, bag-info and fetch file |
| `checker` | is a bag complete, is it valid, and what is wrong with it |

The checker shares nothing with the builder but `paths`.  What is done and what is not: docs/formats/bagit.md.
"""

from vault.bagit.builder import BagBuilder, BuiltBag
from vault.bagit.checker import BagFinding, BagReport, check_bag

__all__ = ["BagBuilder", "BagFinding", "BagReport", "BuiltBag", "check_bag"]
