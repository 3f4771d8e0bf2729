"""The output folder: whole or not there, and never at the cost of a file that a person made."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from screenproof.errors import InputError
from screenproof.questions.folder import MANIFEST, refuse_foreign, whole_folder


def write(folder: Path, **files: str) -> None:
    """One run's output: files with a text each."""
    with whole_folder(folder) as beside:
        for name, text in files.items():
            (beside / name).write_text(text, encoding="utf-8")


def tree(folder: Path) -> dict[str, bytes]:
    """Everything under a folder, by its path."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_the_folder_appears_with_its_parents_and_a_manifest(tmp_path):
    out = tmp_path / "a" / "b" / "out"
    write(out, result="one")
    assert (out / "result").read_text() == "one"
    assert set(json.loads((out / MANIFEST).read_text())["files"]) == {"result"}
    assert [p.name for p in out.parent.iterdir()] == ["out"]


def test_an_earlier_output_is_replaced_whole(tmp_path):
    out = tmp_path / "out"
    write(out, result="one", page="old")
    write(out, result="two")
    assert set(tree(out)) == {"result", MANIFEST}
    assert (out / "result").read_text() == "two"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_folder_has_the_permissions_of_an_ordinary_one(tmp_path):
    write(tmp_path / "out", result="one")
    (tmp_path / "plain").mkdir()
    assert (tmp_path / "out").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_an_empty_folder_is_used(tmp_path):
    (tmp_path / "out").mkdir()
    write(tmp_path / "out", result="one")
    assert (tmp_path / "out" / "result").exists()


@pytest.mark.parametrize("foreign", ["notes.txt", "patches/mine.tif", MANIFEST])
def test_a_folder_with_a_foreign_file_is_left_as_it_is(tmp_path, foreign):
    out = tmp_path / "out"
    (out / foreign).parent.mkdir(parents=True)
    (out / foreign).write_text("mine", encoding="utf-8")
    before = tree(tmp_path)
    with pytest.raises(InputError) as caught:
        write(out, result="one")
    assert foreign in str(caught.value) and "another output folder" in str(caught.value)
    assert tree(tmp_path) == before


def test_a_file_put_into_an_earlier_output_stops_the_run(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    (out / "remarks.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="remarks"):
        write(out, result="two")
    assert (out / "result").read_text() == "one"


def test_an_output_that_a_person_changed_stops_the_run(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    (out / "result").write_text("one, corrected by hand", encoding="utf-8")
    with pytest.raises(InputError, match="changed since: result"):
        write(out, result="two")
    assert (out / "result").read_text() == "one, corrected by hand"


def test_a_file_put_there_while_the_run_goes_on_stops_it(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    with pytest.raises(InputError, match="late"), whole_folder(out) as beside:
        (beside / "result").write_text("two", encoding="utf-8")
        (out / "late.txt").write_text("mine", encoding="utf-8")
    assert set(tree(out)) == {"result", "late.txt", MANIFEST}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_what_the_desktop_leaves_behind_is_no_persons_file(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    (out / ".DS_Store").write_bytes(b"\x00")
    write(out, result="two")
    assert (out / "result").read_text() == "two"


def test_a_run_that_fails_leaves_the_earlier_output_and_nothing_else(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    with pytest.raises(RuntimeError, match="half way"), whole_folder(out) as beside:
        (beside / "result").write_text("half", encoding="utf-8")
        raise RuntimeError("half way")
    assert (out / "result").read_text() == "one"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_when_the_new_folder_cannot_be_put_in_place_the_old_one_comes_back(tmp_path, monkeypatch):
    out = tmp_path / "out"
    write(out, result="one")
    rename, seen = Path.rename, []

    def failing(self: Path, target: Path) -> Path:
        seen.append(self.name)
        if self.suffix == ".part":
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(InputError, match="No space left"):
        write(out, result="two")
    assert len(seen) == 3
    assert (out / "result").read_text() == "one"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is a file"):
        refuse_foreign(tmp_path / "out")
    with pytest.raises(InputError, match="is a file"):
        refuse_foreign(tmp_path / "out" / "deeper" / "still")


def test_a_link_keeps_pointing_where_it_did(tmp_path):
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real", target_is_directory=True)
    write(tmp_path / "out", result="one")
    write(tmp_path / "out", result="two")
    assert (tmp_path / "out").is_symlink()
    assert (tmp_path / "real" / "result").read_text() == "two"


def test_a_link_that_somebody_put_into_the_output_stops_the_run(tmp_path):
    out = tmp_path / "out"
    write(out, result="one")
    (out / "result").unlink()
    (tmp_path / "elsewhere").write_text("one", encoding="utf-8")
    (out / "result").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="result"):
        write(out, result="two")
