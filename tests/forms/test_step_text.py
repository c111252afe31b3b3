"""What may stand in a STEP file: the grammar of ISO 10303-21 (clear text encoding), by hand; and whole files of the
modeller, which must pass."""

import pytest

from foamwright.errors import BuildError
from foamwright.forms.step_text import check_step_text

HEAD = b"ISO-10303-21;\nHEADER;\nFILE_NAME('ENDSEC; DATA;','');\nENDSEC;\nDATA;\n"
TAIL = b"ENDSEC;\nEND-ISO-10303-21;\n"
# every sort of token that the standard has, in a form that it shows
SOUND = (
    b"#1=POINT('it''s; (not closed',(0.,-1.5E-3,+2));\n#2 = (LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.));\n"
    b'/* a remark; with #99 = ( */ #3=LINE($,#1,"0F",LENGTH_MEASURE(1.E+02),!OWN(.T.));\n'
)


def test_what_the_standard_allows_passes():
    check_step_text("a.step", HEAD + SOUND + TAIL)
    check_step_text("a.step", HEAD + SOUND + b"ENDSEC;\nDATA;\n#4=LINE(#1);\n" + TAIL)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (b"#4=POINT('',(NAN,0.));\n", "column 14: NAN is no value"),
        (b"#4=POINT('',(6.0E300,0.));\n", "6.0E300 is too large"),
        (b"#4=LINE(#77);\n", "#77 is named and stands nowhere"),
        (b"#1=POINT('',(0.,0.));\n", "column 1: #1 stands there twice"),
        (b"#4=LINE(#1;\n", "column 1: what begins there is not closed"),
        (b"#4=LINE(#1));\n", "column 12: more is closed"),
        (b"#4=LINE(#1,%);\n", "column 12: '%' is nothing that may stand there"),
        (b"#4=LINE('open);\n", "may stand there"),
        (b"#4=LINE;\n", "is not closed"),
    ],
)
def test_what_the_modeller_would_crash_on_is_told_with_its_place(wrong, told):
    with pytest.raises(BuildError) as error:
        check_step_text("a.step", HEAD + SOUND + wrong + TAIL)
    assert told in str(error.value) and "a.step cannot be read as STEP: line 9, column" in str(error.value)


@pytest.mark.parametrize("content", [b"", b"hello", HEAD, HEAD + SOUND, b"ISO-10303-21;\nHEADER;\nENDSEC;\n"])
def test_what_ends_early_or_is_none_is_refused(content):
    with pytest.raises(BuildError, match="cannot be read as STEP"):
        check_step_text("a.step", content)
