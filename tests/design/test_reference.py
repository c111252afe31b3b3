"""The reference in the README is what the schema says."""

from pathlib import Path

import pytest

from foamwright.design.reference import END, START, reference_markdown, update_readme
from foamwright.design.schema import schema

README = Path(__file__).parents[2] / "README.md"


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
    headings = {line[4:].lower().replace(" ", "-") for line in text.splitlines() if line.startswith("### ")}
    links = {part.split(")")[0] for part in text.split("](#")[1:]}
    assert links and links <= headings


def test_tables_have_one_width():
    for block in reference_markdown().split("\n\n"):
        if block.startswith("|"):
            assert {line.replace("\\|", "").count("|") for line in block.splitlines()} == {5}


def test_update_replaces_what_stands_between_the_markers():
    text = f"# Title\n\n{START}\nwhat stood here\n{END}\n\nAfter.\n"
    updated = update_readme(text)
    assert updated.startswith("# Title\n\n" + START) and updated.endswith(END + "\n\nAfter.\n")
    assert "what stood here" not in updated
    assert update_readme(updated) == updated


@pytest.mark.parametrize("text", ["", START, END + START, START + END + END])
def test_markers_must_be_there(text):
    with pytest.raises(ValueError, match="once each"):
        update_readme(text)


def test_readme_is_up_to_date():
    text = README.read_text("utf-8") if README.exists() else ""
    if START in text:
        assert update_readme(text) == text, "run: python -m foamwright.design.reference README.md"
