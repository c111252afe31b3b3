"""Numbers of STEP entities (ISO 10303-21): the graph stays, and a change stays in its own product's section."""

import re
import subprocess
import sys

import pytest

from foamwright.errors import FaultError
from foamwright.model.step_ids import with_stable_ids

HEAD = "ISO-10303-21;\nHEADER;\nFILE_NAME('#7; it''s',(''));\nENDSEC;\nDATA;\n"
END = "ENDSEC;\nEND-ISO-10303-21;\n"


def product(name, first, x):
    """A section as the kernel writes it: the product, then its shape, with two points that are alike."""
    n = first
    return (
        f"#{n} = SHAPE_DEFINITION_REPRESENTATION(#{n + 1},#{n + 2});\n"
        f"#{n + 1} = PRODUCT('{name}','{name}','',(#1));\n"
        f"#{n + 2} = SHAPE('',(#{n + 3},\n    #{n + 4},#{n + 5}));\n"
        f"#{n + 3} = CARTESIAN_POINT('',({x},0.,0.));\n"
        f"#{n + 4} = CARTESIAN_POINT('',(9.,0.,0.));\n"
        f"#{n + 5} = CARTESIAN_POINT('',(9.,0.,0.));\n"
    )


def file(*parts):
    body, number = "#1 = CONTEXT('mm; #3 ''');\n", 2
    for name, x in parts:
        body += product(name, number, x)
        number += 6
    return HEAD + body + END


def entities(text):
    return dict(re.findall(r"^#(\d+) = (.*);$", text, re.MULTILINE))


def graph(text, at):
    """What an entity says with all that it refers to, written out."""
    said = entities(text.replace(",\n    ", ","))
    return re.sub(r"('(?:[^']|'')*')|#(\d+)", lambda m: m[1] or f"<{graph(text, m[2])}>", said[at])


def roots(text):
    found = entities(text.replace(",\n    ", ","))
    return sorted(graph(text, n) for n, words in found.items() if words.startswith("SHAPE_DEFINITION"))


def test_the_graph_is_the_same_and_strings_are_left_alone():
    before = file(("A side", "1."), ("B #2 lid; it''s", "2."))
    after = with_stable_ids(before)
    assert roots(before) == roots(after)
    assert "'mm; #3 '''" in after and after.startswith(HEAD) and after.endswith(END)
    assert len(entities(after)) == 13 and len(set(entities(after))) == 13  # those that are alike stay two
    assert all(10**8 <= int(number) < 2**31 for number in entities(after))


def test_numbers_follow_from_what_is_said_alone():
    text = file(("A", "1."), ("B", "2."))
    start, data = text.partition("DATA;\n")[0], text.partition("DATA;\n")[2]
    other = re.sub(r"('(?:[^']|'')*')|#(\d+)", lambda m: m[1] or f"#{int(m[2]) * 7 + 40}", data)
    other = f"{start}DATA;\n{other}"
    assert other != text
    assert with_stable_ids(other) == with_stable_ids(text) == with_stable_ids(with_stable_ids(text))


def test_a_changed_part_changes_its_own_lines_only():
    before, after = (with_stable_ids(file(("A", "1."), ("B", x), ("C", "3."))).splitlines() for x in ("2.", "2.5"))
    assert len(set(after) - set(before)) == 3  # the point, the shape that has it, the product's shape


def test_a_new_part_in_front_changes_no_other():
    before = with_stable_ids(file(("B", "2."), ("C", "3."))).splitlines()
    after = with_stable_ids(file(("A", "1."), ("B", "2."), ("C", "3."))).splitlines()
    assert set(before) <= set(after) and len(after) - len(before) == 6


def test_a_circle_is_a_fault():
    with pytest.raises(FaultError, match="circle"):
        with_stable_ids(f"{HEAD}#1 = A(#2);\n#2 = B(#1);\n{END}")


def test_the_kernel_is_not_loaded_for_it():
    """Or it could not be made beside."""
    program = "import sys, foamwright.model.step_text\nassert 'OCP' not in sys.modules"
    subprocess.run([sys.executable, "-c", program], check=True)
