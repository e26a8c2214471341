"""One vault for the tests of the command, copied for each."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.claims.vaults import Vault, made_vault


@pytest.fixture(scope="session")
def first_vault(tmp_path_factory: pytest.TempPathFactory) -> Vault:
    return made_vault(tmp_path_factory.mktemp("claims") / "vault")


@pytest.fixture
def vault(first_vault: Vault, tmp_path: Path) -> Vault:
    return first_vault.copy_to(tmp_path / "vault")
