"""Where the command says that a build has failed."""

import re

import pytest

from foamwright.cli import main
from foamwright.contained import EndedError
from foamwright.errors import BuildError
from tests.hostile.trial import tag, text


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (BuildError("cannot write the pack to build/tag/small: No space left on device"), "foamwright: cannot write"),
        (
            EndedError("it took longer than 5 s and was ended while flattening (part tag)"),
            r"tag\.yaml:\d+:\d+: it took longer",
        ),
    ],
)
def test_a_place_is_told_where_the_design_is_at_fault(error, said, tmp_path, monkeypatch, capsys):
    (tmp_path / "tag.yaml").write_bytes(text(tag()))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("foamwright.many.side_by_side", lambda *_: iter([(0, error)]))
    assert main(["build", "tag.yaml", "--only", "cut_list"]) == 1
    assert re.search(said, capsys.readouterr().err)


def test_a_folder_of_other_files_is_refused_before_anything_is_worked_out(tmp_path, monkeypatch, capsys):
    (tmp_path / "tag.yaml").write_bytes(text(tag()))
    taken = tmp_path / "build" / "tag" / "small"
    taken.mkdir(parents=True)
    (taken / "photo.jpg").write_bytes(b"mine")
    monkeypatch.chdir(tmp_path)

    def made(*_):
        raise AssertionError("worked out in vain")

    monkeypatch.setattr("foamwright.making.made", made)
    monkeypatch.setattr("foamwright.many.side_by_side", lambda works, *_: ((n, caught(w)) for n, w in enumerate(works)))

    def caught(work):
        try:
            return work(lambda *_: None)
        except BuildError as error:
            return error

    assert main(["build", "tag.yaml"]) == 1
    assert "holds other files, as photo.jpg, and no pack" in capsys.readouterr().err
    assert [path.name for path in taken.iterdir()] == ["photo.jpg"]
