"""What comes from strangers is bounded before anything is made of it, and what is refused is told with its place."""

import json
import os
import time
from pathlib import Path

import pytest

from foamwright.design import load
from foamwright.design.files import UnreadableError, regular_bytes
from foamwright.design.letters import shown, unfit
from foamwright.design.placing import at_its_place
from foamwright.errors import DesignError
from tests.hostile.trial import changed, tag, text


def refused(tmp_path, design, name="tag.yaml", **overrides):
    path = tmp_path / name
    path.write_bytes(design if isinstance(design, bytes) else text(design))
    with pytest.raises(DesignError) as caught:
        load(path, None, overrides)
    assert len(str(caught.value).splitlines()) == 1
    return str(caught.value).replace(str(tmp_path), "")


# files


def test_only_regular_files_of_a_sensible_size_are_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to("loop")
    (tmp_path / "large").write_bytes(bytes(11))
    (tmp_path / "fits").write_bytes(bytes(10))
    began = time.monotonic()
    for name, words in (
        ("pipe", "no regular file"),
        ("", "no regular file|Is a directory"),
        ("loop", "symbolic"),
        ("nowhere", "No such"),
        ("large", "more than"),
        ("a\0b", "no name"),
    ):
        with pytest.raises(UnreadableError, match=words):
            regular_bytes(tmp_path / name if name else tmp_path, 10)
    with pytest.raises(UnreadableError):
        regular_bytes("/dev/zero", 10)
    assert regular_bytes(tmp_path / "fits", 10) == bytes(10)
    assert time.monotonic() - began < 60  # what is read without end takes for ever


def test_what_git_keeps_is_not_of_the_repository(tmp_path):
    (tmp_path / ".git").mkdir()
    (tmp_path / ".git" / "config").write_text("format: 1\n")
    (tmp_path / "inner").symlink_to(".git/config")
    for name in (".git/config", "inner", "./.git/../.git/config"):
        assert "lies in .git" in refused(tmp_path, {**tag(), "include": [name]})


def test_a_design_that_is_a_link_leads_to_a_file_of_the_repository(tmp_path):
    """A pull request may hold a link in place of a design: what it leads to would be told of in messages."""
    inner = tmp_path / "mine"
    (inner / ".git").mkdir(parents=True)
    (inner / ".git/config").write_bytes(text(tag()))
    for place in (inner / "true.yaml", tmp_path / "secret.yaml"):
        place.write_bytes(text(tag()))
    for target, words in (
        ("../secret.yaml", "outside the repository"),
        (".git/config", "in .git"),
        ("/proc/self/environ", "outside"),
    ):
        (inner / "tag.yaml").symlink_to(target)
        with pytest.raises(DesignError, match=f"tag.yaml: is a link to what lies {words}"):
            load(inner / "tag.yaml")
        (inner / "tag.yaml").unlink()
    (inner / "tag.yaml").symlink_to("true.yaml")
    assert load(inner / "tag.yaml").name == "Tag"


def test_a_pointer_of_git_lfs_is_told_as_that(tmp_path):
    """As the specification of Git LFS has it, version 1."""
    pointer = "version https://git-lfs.github.com/spec/v1\noid sha256:4d7a214614ab2935c943f9e0ff69d22eadbb8f32b1258daaa5e2ca24d17e2393\nsize 12345\n"
    (tmp_path / "more.yaml").write_text(pointer)
    assert "git lfs pull" in refused(tmp_path, {**tag(), "include": ["more.yaml"]})


def test_files_that_include_the_next_one_twice_take_linear_time(tmp_path):
    for i in range(14):
        (tmp_path / f"f{i}.yaml").write_text(json.dumps({"format": 1, "include": [f"f{i + 1}.yaml"] * 2}))
    (tmp_path / "f14.yaml").write_text("format: 1\nparameters: {more: {value: 1}}\n")
    (tmp_path / "tag.yaml").write_bytes(text({**tag(), "include": ["f0.yaml"]}))
    began = time.process_time()
    assert any(p.name == "more" for p in load(tmp_path / "tag.yaml").parameters)
    assert time.process_time() - began < 3


# YAML


@pytest.mark.parametrize(
    "content, words",
    [
        (b"[" * 100 + b"]" * 100, "within each other"),
        (b"[" * 100_000, "depth"),
        (b"a: !!int x", "the tag"),
        (b"a: " + b"9" * 5000, "a number of 5000 digits"),
        (b"a: 1e999", "too large a number"),
        (b'a: "\\x1b[31m"', "U+001B"),
        (b'"\\u202e": 1', "U+202E"),
        (b"a: \xef\xbf\xbf", "U+FFFF"),
        (b"a: [" + b"1," * 30_000 + b"]", "more than 20000 values"),
    ],
)
def test_yaml_is_looked_through_first(tmp_path, content, words):
    assert words in refused(tmp_path, content)


def test_letters_of_every_script_pass_and_marks_that_turn_it_do_not():
    for word in (
        "灯笼",
        "مصباح",
        "मोमबत्ती",
        "Größenmaß",
        "\U0001f468\u200d\U0001f469\u200d\U0001f467",
        "Đèn lồng",
        "a\tb\nc",
    ):
        assert not unfit(word)
    for word in (
        "\x00",
        "\x1b",
        "\x9b",
        "\x7f",
        "\u2028",
        "\u202e",
        "\ufdd0",
        "\U0010ffff",
        "\ud800",
        "a" + "\u0301" * 20,
    ):
        assert unfit(word)


def test_a_terminal_shows_and_does_not_obey():
    # what GitHub takes for an order: a line that begins with ::, or ##[ anywhere ("Workflow commands", docs.github.com)
    assert shown("a\x1b[31m\n::error::b") == "a\\u001b[31m\\u000a::error::b"
    assert not shown("  ::error::b").lstrip().startswith("::")
    assert "##[" not in shown("a ##[error]b")
    assert shown("e" + 40 * "\u0301" + "f") == "e" + 8 * "\u0301" + "f" and not unfit(shown("e" + 40 * "\u0301"))


# numbers


def test_lengths_angles_and_plain_numbers_are_told_apart(tmp_path):
    for route, value, words in (
        ("stock.foam.thickness", "6 deg", "is an angle; expected a length"),
        ("parameters.scale.value", "1 mm", "in scale is a length; expected a plain number"),
        ("stock.foam.k", "0.5 mm", "expected a plain number"),
        ("parts.tag.layers", "2 mm", "expected a whole number"),
        ("parts.tag.outline.circle.radius", "40 mm + 3 deg", "a length and an angle together"),
        ("parts.tag.outline.circle.radius", "40 mm + scale", "a length and a plain number together"),
        ("parts.tag.outline.circle.radius", "scale - 40 mm", "expected a length times a number"),
        ("parts.tag.outline.circle.radius", "40 mm + sin(30 deg)", "a length and a plain number together"),
        ("parts.tag.outline.circle.radius", "max(length, 3 deg)", "a length and an angle together"),
    ):
        assert words in refused(tmp_path, changed(tag(), route, value)), value
    assert "in scale is a length" in refused(tmp_path, tag(), scale="1 mm")


@pytest.mark.parametrize(
    "value",
    ["length / 2", "length + 3", "2 * 20 mm", "sin(30) * length", "length / 2 mm * 3", "40", "sqrt(length * length)"],
)
def test_what_may_be_a_length_is_one(tmp_path, value):
    path = tmp_path / "tag.yaml"
    path.write_bytes(text(changed(tag(), "parts.tag.outline.circle.radius", value)))
    assert load(path).parts[0].values["outline"]["circle"]["radius"] > 0


@pytest.mark.parametrize(
    "value", ["round(1, -10**9)", "9" * 400, "1e999999999", "2**2**2**2**2**2", "10**400", "-" * 400 + "1"]
)
def test_no_expression_takes_long(tmp_path, value):
    began = time.process_time()
    (tmp_path / "tag.yaml").write_bytes(text(changed(tag(), "parameters.length.value", value)))
    try:
        load(tmp_path / "tag.yaml")
    except DesignError as error:
        assert ":1" in str(error) or ":2" in str(error)
    assert time.process_time() - began < 3


@pytest.mark.parametrize(
    "route, value, words",
    [
        ("parts.tag.repeat", {"grid": {"counts": [40, 40], "steps": [[100, 0, 0], [0, 100, 0]]}}, "1600 pieces; expected at most 1000"),
        ("parts.tag.minus", [{"circle": {"radius": 1}, "repeat": {"grid": {"counts": [100, 100], "steps": [[3, 0], [0, 3]]}}}], "points of outlines"),
        ("parts.tag.layers", 51, "at most 50"),
        ("parts.tag.outline", {"circle": {"radius": 1e-300}}, "at least 0.01"),
        ("parts.tag.outline", {"circle": {"radius": 1e9}}, "at most 50000"),
        ("name", "x" * 10_000, "at most 120"),
        ("name", "Tag\n", "text such as"),
        ("version", "1.0.0\n", "text such as"),
    ],
)  # fmt: skip
def test_a_design_has_a_budget(tmp_path, route, value, words):
    assert words in refused(tmp_path, changed(tag(), route, value))


def test_an_id_does_not_end_in_a_line_break(tmp_path):
    design = tag()
    design["parts"]["tag\n"] = design["parts"].pop("tag")
    assert "is not an id" in refused(tmp_path, design)


@pytest.mark.parametrize("name", ["...yaml", "-x.yaml", ".yaml", "a\x1bb.yaml", "a:b.yaml"])
def test_a_file_name_that_should_not_name_a_folder(tmp_path, name):
    assert "names the pack's folder" in refused(tmp_path, tag(), name)


def test_errors_of_later_steps_get_their_place(tmp_path):
    path = tmp_path / "tag.yaml"
    path.write_bytes(text(tag()))
    design = load(path)
    where = str(design.parts[0].where)
    assert at_its_place("part tag cannot be cut", design) == f"{where}: part tag cannot be cut"
    assert at_its_place("part tags cannot be cut", design) == "part tags cannot be cut"
    assert at_its_place("a.yaml:3:1: part tag", design) == "a.yaml:3:1: part tag"


def test_errors_of_the_figure_and_of_letters_get_their_place(tmp_path):
    path = tmp_path / "tag.yaml"
    solids = [{"ellipsoid": {"centre": [0, 0, 90], "radii": [9, 9, 9]}}]
    path.write_bytes(text({**tag(note="cut from \u65e5"), "figure": {"name": "ball", "solids": solids}, "stands": {}}))
    lines = path.read_text().splitlines()
    design = load(path)

    def at(words):
        return int(at_its_place(words, design).removeprefix(f"{path.as_posix()}:").partition(":")[0])

    assert '"note"' in lines[at("cannot print '\u65e5' (U+65E5) in 'cut from'") - 1]
    assert '"figure"' in lines[at("figure ball: it cannot be read") - 1]
    assert '"stands"' in lines[at("the prop has no part in its place that could stand") - 1]
    for words in ("cannot print 'x' (U+6728) in 'x'", "something else"):
        assert at_its_place(words, design) == words
    path.write_text("changed since")
    assert at_its_place("figure ball: it cannot be read", design) == "figure ball: it cannot be read"


def test_a_piece_of_a_part_cannot_be_named_alone_and_that_is_said(tmp_path):
    design = changed(tag(), "parts.tub", {"kind": "box", "stock": "foam", "size": [60, 50, 40], "at": {"normal": "z"}})
    told = refused(tmp_path, changed(design, "parts.tag.after", ["tub_front_back"]))
    assert "a piece of the part 'tub'" in told and "expected tub" in told
    # an id that only begins like a part of one piece is unknown as before
    assert "unknown part 'tag_x'" in refused(tmp_path, changed(design, "parts.tub.after", ["tag_x"]))


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "designs").glob("*.yaml")), ids=lambda path: path.stem
)
def test_each_limit_may_be_reached_alone(path):
    """Limits and usual values that depend on other parameters follow these."""
    for one in load(path).parameters:
        for value in (one.minimum, one.maximum):
            if value is not None:
                load(path, None, {one.name: value})


def test_flat_props_need_no_forms_and_no_size_is_called_all(tmp_path):
    design = tag()
    del design["forms"]
    (tmp_path / "tag.yaml").write_bytes(text(design))
    assert load(tmp_path / "tag.yaml").forms == {}
    (tmp_path / "tag.yaml").write_bytes(text(changed(design, "sizes", {"small": {}, "all": {}})))
    with pytest.raises(DesignError, match=r"tag.yaml:\d+:\d+: a size called all"):
        load(tmp_path / "tag.yaml")


def test_a_file_that_is_not_there_is_told_with_the_one_that_is_meant(tmp_path):
    (tmp_path / "lamp.yaml").write_bytes(text(tag()))
    with pytest.raises(
        DesignError, match=r"lampe: cannot be read: .*; expected a design file; did you mean lamp.yaml\?"
    ):
        load(tmp_path / "lampe")
