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
