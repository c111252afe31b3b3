import math

import pytest

from foamwright.errors import DesignError
from foamwright.layout.paper import PAPERS, leaf, paper


def test_iso_rule():
    """ISO 216: A0 is 1 m2, every size has sides 1 : sqrt 2 and is half the one before (to a millimetre)."""
    assert paper("A0").width * paper("A0").height == pytest.approx(1e6, rel=1e-3)
    for n in range(6):
        size = paper(f"a{n}")
        assert size.height == pytest.approx(size.width * math.sqrt(2.0), abs=1.0)
        if n:
            before = paper(f"a{n - 1}")
            assert size.height == before.width and 0.0 <= before.height / 2.0 - size.width <= 0.5


def test_sizes_on_the_box():
    """ISO 216 A4 and A5 in mm; ASME Y14.1 sizes A to E in inches (from memory)."""
    assert (paper("a4").width, paper("a4").height) == (210.0, 297.0)
    assert (paper("a5").width, paper("a5").height) == (148.0, 210.0)
    inches = {
        "letter": (8.5, 11),
        "tabloid": (11, 17),
        "ansi-c": (17, 22),
        "ansi-d": (22, 34),
        "ansi-e": (34, 44),
        "legal": (8.5, 14),
    }
    for name, size in inches.items():
        assert (paper(name).width / 25.4, paper(name).height / 25.4) == pytest.approx(size)


def test_all_are_portrait_and_named_by_key():
    assert all(p.width <= p.height and p.name == name for name, p in PAPERS.items())


def test_unknown_paper_gets_a_hint():
    with pytest.raises(DesignError, match="did you mean letter"):
        paper("leter")
    with pytest.raises(DesignError, match="no paper is called 'zzzz'"):
        paper("zzzz")


def test_a_roll_has_the_width_of_its_name():
    """610 and 914 mm are the rolls of 24 and 36 inches (from memory)."""
    for name, width in (("roll-610", 610.0), ("Roll-914", 914.0), ("roll-1067.5", 1067.5)):
        assert paper(name).width == width and paper(name).roll
        assert paper(name).height <= 14400 / 72 * 25.4  # the longest PDF page, ISO 32000-1 annex C (from memory)
    for name in ("roll-50", "roll-9000"):
        with pytest.raises(DesignError, match="a roll is 200 to 2000 mm wide"):
            paper(name)
    with pytest.raises(DesignError):
        paper("roll-")


def test_a_booklet_beside_a_roll_is_a4():
    assert leaf(paper("roll-610")).name == "a4" and leaf(paper("letter")).name == "letter"
