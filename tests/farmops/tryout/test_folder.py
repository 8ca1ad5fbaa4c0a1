"""The folder of a tryout: afresh each time, and nobody else's files are touched."""

from pathlib import Path

import pytest

from farmops.tryout.folder import LIST_NAME, FolderRefused, OutFolder


def test_a_second_run_removes_what_the_first_wrote_and_nothing_else(tmp_path: Path) -> None:
    first = OutFolder(tmp_path)
    first.start_afresh()
    first.write_text("problem.json", "1")
    first.write_text("sheets/a.eml", "2")
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "sheets" / "mine.eml").write_text("mine too")
    second = OutFolder(tmp_path)
    second.start_afresh()
    names = sorted(str(path.relative_to(tmp_path)) for path in tmp_path.rglob("*") if path.is_file())
    assert names == ["notes.txt", "sheets/mine.eml", LIST_NAME]
    second.write_text("problem.json", "3")
    assert second.written() == ["problem.json"]


def test_an_emptied_folder_of_sheets_is_removed_too(tmp_path: Path) -> None:
    first = OutFolder(tmp_path / "deep" / "out")
    first.start_afresh()
    first.write_text("sheets/a.eml", "2")
    OutFolder(tmp_path / "deep" / "out").start_afresh()
    assert not (tmp_path / "deep" / "out" / "sheets").exists()


def test_a_file_of_the_same_name_that_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "problem.json").write_text("mine")
    out = OutFolder(tmp_path)
    out.start_afresh()
    with pytest.raises(FolderRefused, match="was not written by a tryout"):
        out.write_text("problem.json", "3")
    assert (tmp_path / "problem.json").read_text() == "mine"


@pytest.mark.parametrize("name", ["../victim.txt", "{root}/victim.txt", "away/victim.txt"])
def test_a_list_that_somebody_wrote_into_removes_nothing_outside(tmp_path: Path, name: str) -> None:
    victim = tmp_path / "victim.txt"
    victim.write_text("mine")
    root = tmp_path / "out"
    out = OutFolder(root)
    out.start_afresh()
    (root / "away").symlink_to(tmp_path)
    with (root / LIST_NAME).open("a") as file:
        file.write(name.format(root=tmp_path) + "\n")
    OutFolder(root).start_afresh()
    assert victim.read_text() == "mine"


def test_a_foreign_file_in_the_place_of_the_list_and_a_file_as_folder_are_refused(tmp_path: Path) -> None:
    (tmp_path / LIST_NAME).write_text("problem.json\n")
    with pytest.raises(FolderRefused, match="is not a list of a tryout"):
        OutFolder(tmp_path).start_afresh()
    plain = tmp_path / "plain"
    plain.write_text("x")
    with pytest.raises(FolderRefused, match="is a file, not a folder"):
        OutFolder(plain).start_afresh()


def test_a_run_that_was_cut_off_leaves_its_files_in_the_list(tmp_path: Path) -> None:
    out = OutFolder(tmp_path)
    out.start_afresh()
    out.claim("farm.sqlite3").write_bytes(b"half")
    OutFolder(tmp_path).start_afresh()
    assert not (tmp_path / "farm.sqlite3").exists()
