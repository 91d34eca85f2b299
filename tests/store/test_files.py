"""Files that must survive the power going off: in which order they are written."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from intake.store import photos
from intake.store.files import UNFINISHED, sha256_of


@pytest.mark.skipif(os.name == "nt", reason="Windows cannot sync a folder")
def test_a_photo_is_synced_then_renamed_and_the_rename_synced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    sync, rename = os.fsync, os.replace

    def noted_sync(descriptor: int) -> None:
        done.append("sync folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "sync file")
        sync(descriptor)

    def noted_rename(source: str, target: Path) -> None:
        assert Path(source).name.startswith(UNFINISHED) and Path(source).parent == target.parent
        assert not target.exists() and Path(source).read_bytes() == b"jpeg"
        done.append("rename")
        rename(source, target)

    monkeypatch.setattr("os.fsync", noted_sync)
    monkeypatch.setattr("os.replace", noted_rename)
    sha = photos.write(tmp_path, b"jpeg")
    assert done == ["sync file", "rename", "sync folder"]
    (kept,) = tmp_path.iterdir()
    assert kept.stem == sha == sha256_of(kept)
