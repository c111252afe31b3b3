"""Which stages are one step. Walls that are sewn to each other make one step, in whatever order the plan has them: a tower is a ring before it is set down."""

from dataclasses import replace

from block_props import piece, scene

from foamwright.assembly.batches import PIECES_IN_TURN, _batched, _joints
from foamwright.assembly.taking_apart import Move, Stage
from foamwright.assembly.units import Unit
from foamwright.assembly.ways_in import Ways
from foamwright.registry import RANK


def wall(part, at, copies=1, rank="panel"):
    unit = Unit(at, (part,), "", "", RANK[rank], "contact")
    return Stage((unit,), tuple(Move((at * 10 + n,), None) for n in range(copies)))


def steps(stages, *pairs, needs=None, joined=None):
    waits = {part: (needs or {}).get(part, set()) for stage in stages for part in stage.parts}
    return [stage.parts for stage in _batched(stages, {frozenset(pair) for pair in pairs}, waits, joined or {}, set())]


def test_every_second_wall_of_a_tower_is_joined_by_those_between_them():
    tower = [wall("front", 1), wall("window", 2, 2), wall("plain", 3, 4), wall("back", 4)]
    seams = [("front", "plain"), ("window", "plain"), ("plain", "back")]
    assert steps(tower, *seams) == [("front", "window", "plain", "back")]


def test_two_towers_are_two_steps_and_a_wall_between_them_parts_neither():
    one, two = [wall("a", 1), wall("b", 2)], [wall("c", 3), wall("d", 4)]
    seams = [("a", "b"), ("c", "d")]
    assert steps([*one, *two], *seams) == [("a", "b"), ("c", "d")]
    assert steps([one[0], two[0], one[1], two[1]], *seams) == [
        ("a",),
        ("c",),
        ("b",),
        ("d",),
    ]  # the plan has its reason


def test_a_wall_waits_for_one_that_must_stand_before_it():
    assert steps([wall("a", 1), wall("b", 2)], ("a", "b"), needs={"b": {"a"}}) == [("a",), ("b",)]


def test_a_ring_of_many_kinds_is_joined_whole_and_more_is_dealt_out():
    def ring(count):
        names = [f"w{n}" for n in range(count)]
        walls = [wall(name, n) for n, name in enumerate(names)]
        return steps(walls, *zip(names, names[1:] + names[:1], strict=True))

    assert len(ring(PIECES_IN_TURN)) == 1
    assert len(ring(PIECES_IN_TURN + 2)) == 3


def test_what_has_no_seams_is_dealt_out_as_before():
    assert [len(step) for step in steps([wall(f"p{n}", n) for n in range(8)])] == [4, 4]


def test_what_goes_on_other_things_is_a_step_of_its_own():
    """The ribs of a roof and the lip of a shelf below it have nothing to do with each other; what lies on the lip goes with it, and
    the hubs of the front and of the rear wheels are one kind of work."""
    ribs, lip, plaque = wall("ribs", 1), wall("lip", 2), wall("plaque", 3)
    joined = {"ribs": {"frame"}, "lip": {"shelf"}, "plaque": {"lip"}}
    assert steps([ribs, lip, plaque], joined=joined) == [("ribs",), ("lip", "plaque")]
    hubs = ("disc", "thick", "disc", "thin")
    assert len(steps([ribs, lip], joined={"ribs": {"rear", hubs}, "lip": {"front", hubs}})) == 1
    assert len(steps([ribs, lip], joined={"ribs": {"frame"}})) == 1  # the table is at hand


def test_how_parts_are_joined_is_found_from_what_stands():
    board, post, cap = (piece(name, size, at) for name, size, at in (
        ("board", (200, 100, 10), (0, 0, 0)), ("post", (20, 20, 100), (50, 0, 55)), ("cap", (30, 30, 10), (50, 0, 110)),
    ))  # fmt: skip
    ways = Ways(scene(board, post, cap))
    stages = [replace(wall(name, n), moves=(Move((n,), None),)) for n, name in enumerate(("board", "post", "cap"))]
    found = _joints(stages, ways)
    assert [{name for name in found[part] if isinstance(name, str)} for part in ("board", "post", "cap")] == [
        set(),
        {"board"},
        {"post"},
    ]
