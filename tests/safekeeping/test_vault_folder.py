"""The vault folder: where it is, how it is made, the settings a person may edit."""

from __future__ import annotations

from pathlib import Path

import pytest

from vault.errors import StoreError
from vault.safekeeping.folder import Settings, VaultFolder, default_root
from vault.safekeeping.objects import ObjectStore


def test_making_the_object_touches_nothing(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "new" / "vault")
    assert not folder.exists()
    assert list(tmp_path.iterdir()) == []


def test_create_makes_the_layout_and_is_idempotent(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "a" / "vault")
    folder.create()
    before = {p.relative_to(folder.root).as_posix() for p in folder.root.rglob("*")}
    assert before == {"objects", "tmp", "vault.toml"}
    folder.create()
    assert {p.relative_to(folder.root).as_posix() for p in folder.root.rglob("*")} == before
    assert not folder.exists(), "a vault with nothing in it yet is none to a person"


def test_a_kept_object_or_a_catalogue_make_a_vault(tmp_path: Path) -> None:
    one, two = VaultFolder(tmp_path / "one"), VaultFolder(tmp_path / "two")
    ObjectStore(one).keep(b"a pattern")
    two.create()
    two.catalogue_path.write_bytes(b"rows")
    assert one.exists() and two.exists()


def test_a_folder_of_other_things_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taxes.pdf").write_bytes(b"%PDF")
    with pytest.raises(StoreError) as caught:
        VaultFolder(tmp_path).create()
    assert caught.value.code == "folder-in-use"
    assert "taxes.pdf" in caught.value.message and "Pinfold" in caught.value.next_step
    assert [p.name for p in tmp_path.iterdir()] == ["taxes.pdf"]


@pytest.mark.parametrize("noise", [".DS_Store", "desktop.ini", "Thumbs.db", "lost+found"])
def test_what_systems_put_into_folders_is_no_hindrance(tmp_path: Path, noise: str) -> None:
    (tmp_path / noise).write_bytes(b"")
    VaultFolder(tmp_path).create()
    assert (tmp_path / "objects").is_dir()


def test_a_file_in_the_way_is_named(tmp_path: Path) -> None:
    path = tmp_path / "vault"
    path.write_bytes(b"")
    with pytest.raises(StoreError) as caught:
        VaultFolder(path).create()
    assert caught.value.code == "not-a-folder" and str(path) in caught.value.message


def test_pinfold_vault_decides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PINFOLD_VAULT", str(tmp_path / "mine"))
    assert default_root() == tmp_path / "mine"


def test_default_is_stable_once_a_vault_exists(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import platformdirs

    monkeypatch.delenv("PINFOLD_VAULT", raising=False)
    monkeypatch.setattr(platformdirs, "user_documents_dir", lambda: str(tmp_path / "Documents"))
    monkeypatch.setattr(platformdirs, "user_data_dir", lambda *a, **k: str(tmp_path / "data" / "pinfold"))
    assert default_root() == tmp_path / "data" / "pinfold"
    ObjectStore(VaultFolder(default_root())).keep(b"first")
    (tmp_path / "Documents").mkdir()
    assert default_root() == tmp_path / "data" / "pinfold", "the vault must not vanish when a folder appears"


def test_settings_keep_what_the_person_wrote(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "v")
    folder.create()
    folder.settings_path.write_text(
        '# my own words\n[backup]\ndestinations = ["/old"] # the blue stick\n[mine]\nkept = true\n', encoding="utf-8"
    )
    folder.change_settings(recipients=("age1xyz",), destinations=("/old", "/new"))
    text = folder.settings_path.read_text(encoding="utf-8")
    assert "# my own words" in text and "kept = true" in text
    assert folder.settings() == Settings(recipients=("age1xyz",), destinations=("/old", "/new"))


def test_settings_of_a_fresh_vault_are_empty_and_can_be_changed(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "v")
    assert folder.settings() == Settings()
    folder.create()
    assert folder.settings() == Settings()
    folder.change_settings(watch_folders=("Téléchargements",))
    assert folder.settings().watch_folders == ("Téléchargements",)


@pytest.mark.parametrize(
    "text",
    ["[backup\n", "[backup]\nrecipient = 7\n", "[backup]\ndestinations = [1]\n", "\xff\xfe", "a = " + "[" * 5000],
    ids=["not-toml", "recipient-a-number", "destination-a-number", "not-utf8", "deep"],
)
def test_bad_settings_are_one_sentence(tmp_path: Path, text: str) -> None:
    folder = VaultFolder(tmp_path / "v")
    folder.create()
    folder.settings_path.write_bytes(text.encode("latin-1"))
    with pytest.raises(StoreError) as caught:
        folder.settings()
    assert str(folder.settings_path) in caught.value.message and caught.value.next_step


def test_a_settings_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "v")
    folder.create()
    folder.settings_path.write_bytes(b'\xef\xbb\xbf[backup]\ndestinations = ["E:/Backup"]\n')
    assert folder.settings().destinations == ("E:/Backup",)
