"""Shared by the tests of safekeeping."""

from __future__ import annotations

import os

import pytest


@pytest.fixture(autouse=True)
def disk_that_need_not_survive_a_power_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """Syncing takes most of the time here and shows nothing; that and when it is asked for, `FaultyDisk` counts."""
    monkeypatch.setattr(os, "fsync", lambda _: None)
