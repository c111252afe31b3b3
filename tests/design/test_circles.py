"""Parts that wait for themselves or take their shape from themselves are refused with all names; chains may be long."""

import time
from itertools import pairwise

import pytest

from foamwright.design import load
from foamwright.design.records import PartSpec, Where
from foamwright.design.references import check_order, in_order_of_shape
from foamwright.design.source import Source
from foamwright.errors import DesignError

HEAD = """\
format: 1
name: Circles
version: 0.1.0
licence: CC0-1.0
parameters:
  scale: {value: 1}
  clearance: {value: 1}
  size: {value: 100 * scale}
sizes: {only: {}}
stock: {foam: {name: Foam, thickness: 6, sheet: [1000, 1000]}}
forms:
  ball:
    kind: superellipsoid
    radii: [100, 100, 100]
    cuts: {middle: {plane: {normal: z}}}
parts:
"""
WITHIN = "within: {rectangle: {width: size, height: 100}}"


def filler(name, *parts, more=""):
    return (
        f"  {name}: {{kind: filler, stock: foam, plane: {{normal: z}}, {WITHIN}, parts: [{', '.join(parts)}]{more}}}\n"
    )


def disc(name, more=""):
    return f"  {name}: {{kind: disc, stock: foam, radius: size, at: {{normal: z}}{more}}}\n"


def panel(name, more=""):
    return f"  {name}: {{kind: panel, stock: foam, form: ball, where: {{middle: beyond}}{more}}}\n"


def loaded(tmp_path, *parts, head=HEAD):
    path = tmp_path / "circles.yaml"
    path.write_text(head + "".join(parts), "utf-8")
    return load(path)


def refused(tmp_path, *parts):
    with pytest.raises(DesignError) as caught:
        loaded(tmp_path, *parts)
    assert "\n" not in str(caught.value)
    return str(caught.value)


CIRCLES = {
    "two fillers": (
        [filler("a", "b"), filler("b", "a")],
        "parts take their shape from each other: a -> b -> a",
    ),
    "three fillers behind others": (
        [disc("plain"), filler("a", "plain", "c"), filler("b", "a"), filler("c", "b")],
        "parts take their shape from each other: a -> c -> b -> a",
    ),
    "after": (
        [disc("a", ", after: [b]"), disc("b", ", after: [c]"), disc("c", ", after: [a]")],
        "parts wait for each other: a -> b -> c -> a",
    ),
    "lies on and after": (
        [disc("a", ", lies_on: [b]"), disc("b", ", after: [a]")],
        "parts wait for each other: a -> b -> a",
    ),
    "rests on": (
        [disc("a", ", rests_on: [b]"), disc("b", ", rests_on: [c]"), disc("c", ", rests_on: [a]")],
        "parts stand on each other: a -> b -> c -> a",
    ),
    "rests on and lies on": (
        [disc("a", ", rests_on: [b]"), disc("b", ", lies_on: [a]")],
        "parts stand on each other: a -> b -> a",
    ),
    "over": (
        [panel("a", ", over: [b]"), panel("b", ", over: [a]")],
        "parts wait for each other: a -> b -> a",
    ),
    "through a stack's members": (
        [
            "  tower: {kind: stack, stock: foam, rounds: [{radius: 9}, {radius: 7}], at: {normal: z}, after: [a]}\n",
            disc("a", ", lies_on: [tower]"),
        ],
        "parts wait for each other: tower -> a -> tower",
    ),
    "through a box": (
        ["  crate: {kind: box, stock: foam, size: [90, 90, 90], lies_on: [a]}\n", disc("a", ", after: [crate]")],
        "parts wait for each other: crate -> a -> crate",
    ),
    "masks of each other": (
        [
            f"  {name}: {{kind: mask, stock: foam, windows: [{{circle: {{radius: 3}}}}], of: {of}}}\n"
            for name, of in (("a", "b"), ("b", "c"), ("c", "a"))
        ],
        "parts take their shape from each other: a -> b -> c -> a",
    ),
    "inside and over": (
        [
            "  floor: {kind: bulkhead, stock: foam, form: ball, plane: {normal: z}, inside: [lining]}\n",
            panel("lining", ", laid: inside, over: [floor]"),
        ],
        "parts take their shape from each other: floor -> lining -> floor",
    ),
}


@pytest.mark.parametrize("parts, words", CIRCLES.values(), ids=CIRCLES)
def test_a_circle_is_refused_and_named(tmp_path, parts, words):
    message = refused(tmp_path, *parts)
    assert message.endswith(f"{words}; expected one that needs none of them")
    # the place is the reference that closes the circle, in the line of the part that is named last
    last = words.split(" -> ")[-2]
    line = int(message.removeprefix((tmp_path / "circles.yaml").as_posix()).split(":")[1])
    assert (HEAD + "".join(parts)).splitlines()[line - 1].startswith(f"  {last}: ")


SELF = {
    "parts": filler("a", "a"),
    "of": "  a: {kind: spacer, stock: foam, of: a}\n",
    "after": disc("a", ", after: [a]"),
    "lies_on": disc("a", ", lies_on: [a]"),
    "rests_on": disc("a", ", rests_on: [a]"),
    "over": panel("a", ", over: [a]"),
    "inside": filler("a", more=", inside: [a]"),
}


@pytest.mark.parametrize("key, part", SELF.items())
def test_a_part_that_names_itself(tmp_path, key, part):
    assert f"part 'a' names itself in {key!r}" in refused(tmp_path, part)


def test_what_is_fitted_first_may_be_shaped_last(tmp_path):
    design = loaded(tmp_path, filler("a", "b"), disc("b", ", after: [a]"))
    assert [part.id for part in design.parts] == ["a", "b"]


def test_a_long_chain_written_backwards(tmp_path):
    many = 480
    parts = [disc(f"p{i}", f", after: [p{i + 1}]") for i in range(many)] + [disc(f"p{many}")]
    design = loaded(tmp_path, *parts)
    assert len(design.parts) == many + 1


def chain(many, key, closed=False):
    """Fillers of which each names the next under `key`, the last one the first if `closed`."""
    names = [f"p{i}" for i in range(many)]
    following = {a: (b,) for a, b in pairwise(names)} | {names[-1]: (names[0],) if closed else ()}
    return [PartSpec(a, "A", a, "filler", "foam", {key: following[a]}, Where("f", 1, 1)) for a in names]


@pytest.mark.parametrize("key", ["after", "lies_on", "rests_on", "parts", "inside"])
def test_chains_of_any_reference_may_be_long(key):
    source = Source("f", {}, {(): Where("f", 1, 1)})
    parts = chain(5000, key)
    check_order(parts, source)
    if key in ("parts", "inside"):
        assert list(in_order_of_shape(parts)) == parts[::-1]
    with pytest.raises(DesignError, match=r"p0 -> p1 -> .* -> p4999 -> p0; "):
        check_order(chain(5000, key, closed=True), source)


def test_time_grows_with_the_number_of_references():
    """Four times the parts take about four times as long to check for circles, not sixteen times."""
    source = Source("f", {}, {(): Where("f", 1, 1)})

    def seconds(many):
        parts = chain(many, "after")
        times = []
        for _ in range(5):
            begin = time.process_time()
            check_order(parts, source)
            times.append(time.process_time() - begin)
        return min(times)

    assert seconds(8000) < 9 * seconds(2000)


def test_a_long_chain_of_parameters_written_backwards(tmp_path):
    many = 480
    chain = "".join(f"  q{i}: {{value: q{i + 1} + 1}}\n" for i in range(many)) + f"  q{many}: {{value: 7}}\n"
    head = HEAD.replace("  size: {value: 100 * scale}\n", f"  size: {{value: 100 * scale}}\n{chain}")
    design = loaded(tmp_path, disc("a"), head=head)
    assert next(p.value for p in design.parameters if p.name == "q0") == 7 + many


LOOSE = "  loose: {kind: strip, stock: foam, length: 50, width: 9}\n"


@pytest.mark.parametrize("key", ["after", "lies_on"])
def test_nothing_is_glued_to_a_part_that_stands_nowhere(tmp_path, key):
    message = refused(tmp_path, disc("a", f", {key}: [loose]"), LOOSE)
    assert "part 'loose' is a strip, which stands nowhere in the prop" in message


@pytest.mark.parametrize(
    "more", ["joins: [{parts: [a, loose]}]\n", "overlaps: [[a, loose]]\n", "steps: [{parts: [loose, a]}]\n"]
)
def test_nor_joined_or_fitted(tmp_path, more):
    message = refused(tmp_path, disc("a"), LOOSE, more)
    assert "part 'loose' is a strip, which stands nowhere in the prop" in message


def test_inside_names_parts_that_lie_on_a_form(tmp_path):
    floor = "  floor: {kind: bulkhead, stock: foam, form: ball, plane: {normal: z}, inside: [a]}\n"
    assert "part 'a' is a disc, which lies on no form; expected a band or a cover or a panel" in refused(
        tmp_path, floor, disc("a")
    )
