"""What is said of a panel of which the kernel makes no solid, by attempts that fail."""

from types import SimpleNamespace

import pytest

from foamwright.errors import BuildError
from foamwright.model import build
from foamwright.model.failure import ShapeFailure
from foamwright.parts.records import FlatBody, PanelBody


@pytest.mark.parametrize(
    "body, remedy", [(PanelBody, "for 12 mm of foam .* end it before that with another cut"), (FlatBody, "valid$")]
)
def test_of_a_panel_it_is_told_what_may_help(monkeypatch, body, remedy):
    def fails(*_):
        raise ShapeFailure("the faces are not valid")

    monkeypatch.setattr(build, "_ATTEMPTS", {body: ((fails, ""),)})
    piece = SimpleNamespace(id="gore", body=object.__new__(body), stock=SimpleNamespace(thickness=6.0), layers=2)
    with pytest.raises(BuildError, match=f"part gore: no solid can be made of it: the faces are not .*{remedy}"):
        build._modelled(piece)
