"""The reference beside the designs is what the schema says."""

import re
from pathlib import Path

from foamwright.design.reference import reference_markdown, reference_page
from foamwright.design.schema import schema

DESIGNS = Path(__file__).parents[2] / "designs"


def test_every_key_has_a_row():
    rows = [line.split("|")[1].strip() for line in reference_markdown().splitlines() if line.startswith("| `")]
    expected = [f"`{key}`" for key in schema()["properties"]]
    for name, definition in schema()["$defs"].items():
        if name not in ("form", "part"):
            shared = (
                schema()["$defs"]["part_fields"]["properties"] if "kind" in definition.get("properties", {}) else {}
            )
            expected += [f"`{key}`" for key in definition.get("properties", {}) if key not in shared]
    assert rows == expected


def test_every_link_has_its_heading():
    text = reference_markdown()
    headings = {line[3:].lower().replace(" ", "-") for line in text.splitlines() if line.startswith("## ")}
    links = {part.split(")")[0] for part in text.split("](#")[1:]}
    assert links and links <= headings


def test_tables_have_one_width():
    for block in reference_markdown().split("\n\n"):
        if block.startswith("|"):
            assert {line.replace("\\|", "").count("|") for line in block.splitlines()} == {5}


def test_the_page_in_the_designs_is_up_to_date():
    assert (DESIGNS / "REFERENCE.md").read_text("utf-8") == reference_page(DESIGNS), (
        "run: python -m foamwright.design.reference designs"
    )


def test_every_picture_of_the_page_exists():
    sources = re.findall(r'<img src="([^"]+)"', reference_page(DESIGNS))
    assert sources and all((DESIGNS / source).is_file() for source in sources)
