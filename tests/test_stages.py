"""The graph of stages: each runs once and only when needed, and its wiring agrees with the types of the records."""

import inspect
import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

import foamwright
from foamwright import outputs, pipeline
from foamwright.geometry.fixed import arrays_in
from foamwright.pack.record import SECTIONS
from foamwright.stages import Run, Stage, closure, needs

BESIDE_STAGES = {
    "only": "Sequence[str]",
    "archive": "str",
    "documents": "Mapping[str, Document]",
    "files": "Mapping[str, bytes]",
}


def counted(ran):
    """A small graph: c needs a and b, b needs a; d needs nothing that the others need."""

    def a(start):
        ran.append("a")
        return start + 1

    def b(a):
        ran.append("b")
        return 10 * a

    def c(a, b):
        ran.append("c")
        return a + b

    def d():
        ran.append("d")
        return 0

    return {f.__name__: Stage(f.__name__, f"making {f.__name__}", f) for f in (a, b, c, d)}


def test_a_stage_runs_once_and_only_for_those_that_need_it():
    ran, told = [], []
    run = Run(counted(ran), {"start": 1}, told.append)
    assert run.get("c") == 2 + 20 and ran == ["a", "b", "c"]
    assert told == ["making a", "making b", "making c"]
    assert run.get("c") == 22 and run.call(lambda b: b + 1) == 21 and ran == ["a", "b", "c"]
    assert run.known == {"start": 1, "a": 2, "b": 20, "c": 22}
    with pytest.raises(KeyError):
        run.get("e")


def test_a_stage_that_failed_is_not_kept():
    broken = [True]

    def a():
        if broken.pop():
            raise foamwright.BuildError("once")
        return 1

    run = Run({"a": Stage("a", "", a)}, {})
    with pytest.raises(foamwright.BuildError):
        run.get("a")
    broken.append(False)
    assert run.get("a") == 1


def test_what_a_function_needs_by_way_of_others():
    graph = counted([])
    assert closure(graph, [lambda c: c]) == {"c", "b", "a", "start"}
    assert closure(graph, [lambda d: d, lambda start: start]) == {"d", "start"}
    assert closure(graph, []) == frozenset()


def plain_type(annotation):
    """The annotation as text; a tuple of any length is a sequence to those that only read it."""
    text = annotation.replace(" ", "")
    return f"Sequence[{text[6:-5]}]" if text.startswith("tuple[") and text.endswith(",...]") else text


def test_each_parameter_of_the_graph_has_the_type_that_its_stage_returns():
    made = {name: plain_type(stage.make.__annotations__["return"]) for name, stage in pipeline.STAGES.items()}
    made |= {name: plain_type(text) for name, text in BESIDE_STAGES.items()}
    given = {
        "design": "Design",
        "paper": "Paper",
        "on_hand": "OnHand",
        "nest_effort": "float",
        "run_own_code": "bool",
        "reader": "Reader",
        "prove": "bool",
        "beside": "Beside|None",
    }
    made |= given | {"libraries": "Mapping[str,str]", "store": "Store"}
    users = [stage.make for stage in pipeline.STAGES.values()]
    users += [outputs.output(name).files for name in outputs.NAMES]
    users += SECTIONS.values()
    for function in users:
        for name in needs(function):
            wanted = plain_type(inspect.signature(function).parameters[name].annotation)
            assert wanted == made[name], f"{function.__module__}.{function.__name__}: {name}"
    assert set(pipeline.GIVEN) == {*given, "libraries", "store"}


def test_every_stage_is_needed_by_some_output_or_rule_or_the_first_look():
    every = [outputs.output(name).files for name in outputs.NAMES] + list(SECTIONS.values())
    needed = closure(pipeline.STAGES, every)
    assert set(pipeline.STAGES) | set(pipeline.GIVEN) - {"paper"} <= needed | {*pipeline.RULES, "look", "attempt"}


def test_a_record_of_a_whole_pack_has_all_sections():
    whole = closure(pipeline.STAGES, [outputs.output(name).files for name in outputs.NAMES])
    whole |= {name for name in pipeline.TOLD if whole | {*pipeline.RULES} >= {*needs(pipeline.STAGES[name].make)}}
    for section in SECTIONS.values():
        assert set(needs(section)) <= whole | {*pipeline.GIVEN, *pipeline.RULES, *BESIDE_STAGES}


def test_every_name_of_the_public_interface_is_there_and_none_is_loaded_before_its_use():
    assert {*foamwright._HOME} == {*foamwright.__all__}
    code = (
        "import sys, foamwright\n"
        "assert not [m for m in sys.modules if m.startswith('foamwright.')], 'loaded early'\n"
        "assert not {'numpy', 'yaml', 'cadquery'} & set(sys.modules)\n"
        "assert {*foamwright.__all__} <= {*dir(foamwright)}\n"
        "for name in foamwright.__all__: assert getattr(foamwright, name), name\n"
        "try: foamwright.nothing\n"
        "except AttributeError as error: assert 'nothing' in str(error)\n"
        "else: raise AssertionError\n"
    )
    source = str(Path(foamwright.__file__).parents[1])
    subprocess.run([sys.executable, "-c", code], check=True, env=os.environ | {"PYTHONPATH": source})


SMALL = """\
format: 1
name: One of each body
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock:
  foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  dowel: {name: Dowel, thickness: 10 mm, sheet: [10, 1000]}
forms:
  tube:
    {kind: revolution, axis: z, smooth: false, profile: [[0, 50], [90, 50]], cuts: {top: {plane: {normal: z, at: 80}}}}
figure: {name: ball, solids: [{ellipsoid: {centre: [0, 0, 40], radii: [20, 20, 20]}}]}
parts:
  foot: {kind: plate, stock: foam, outline: {rectangle: {width: 150 * scale, height: 150}}, at: {origin: [0, 0, -6 mm], normal: z}}
  wall: {kind: panel, stock: foam, form: tube, where: {top: before}, opened: 0, after: [foot]}
  post: {kind: rod, stock: dowel, from: [65, 65, 0], to: [65, 65, 40], after: [foot]}
  hoop: {kind: band, stock: foam, width: 20, along: {hoop: {form: tube, plane: {normal: z, at: 50}}}, over: [wall], after: [wall]}
joins: [{parts: [wall, foot]}, {parts: [post, foot]}]
"""


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """The stages of a small prop with a figure, in which every stage can be asked for."""
    path = tmp_path_factory.mktemp("small") / "small.yaml"
    path.write_text(SMALL, "utf-8")
    return foamwright.Stages(foamwright.Request(foamwright.load(path), nest_effort=0.001))


@pytest.mark.slow
def test_no_array_of_any_record_can_be_written_into(small):
    """Every stage is asked for, then every record that was made is walked through."""
    arrays = {name: list(arrays_in(small.record(name))) for name in pipeline.STAGES}
    assert sum(map(len, arrays.values())) > 300
    assert {name for name in arrays if any(array.flags.writeable for array in arrays[name])} == set()


def test_what_takes_most_memory_is_made_beside_and_what_can_be_shared_last():
    order = [name for names in pipeline.BESIDE for name in names]
    shared = {"step_pictures", "step_file", "insets", pipeline.LATEST}
    assert {*order[order.index("proof_pages") + 1 :]} == shared
    assert {"portrait", "prop_pictures"} <= {*order[: order.index("proof")]}


def test_the_last_that_is_made_beside_waits_for_all_that_can_be_shared_but_the_text_of_the_solids():
    """Its process would stand still at the end while this one made it, or this one while it was made there."""
    assert pipeline.BESIDE[-1] == (pipeline.LATEST,)
    needed = closure(pipeline.STAGES, [pipeline.STAGES[pipeline.LATEST].make])
    order = [name for names in pipeline.BESIDE for name in names]
    assert {*order[order.index("proof_pages") + 1 : -1]} - needed == {"step_file"}
    assert "sheet_files" not in needed  # what is made meanwhile


@pytest.mark.slow
def test_what_is_made_beside_can_go_there_and_come_back(small):
    """Or it would be made here after all, and nobody would be told."""
    made = {name for names in pipeline.BESIDE for name in names}
    for name in sorted(made | {need for stage in made for need in needs(pipeline.STAGES[stage].make)}):
        assert pickle.loads(pickle.dumps(small.record(name))) is not None or small.record(name) is None, name
