"""Kinds from outside the program: registered, or given by an installed package through an entry point.

The package is laid out as a wheel is when it is installed (PyPA: Recording installed projects, Entry points
specification), and found by `importlib.metadata` in a process of its own.
"""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from foamwright.design.fields.declare import key
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.quantities import LENGTH
from foamwright.errors import DesignError
from foamwright.registry import Kind, kind, kinds, register

SOURCE = Path(__file__).parents[2] / "generator"

MODULE = '''\
from dataclasses import dataclass, replace

from foamwright.design.fields.declare import exactly, key
from foamwright.design.fields.part import FlatFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import LENGTH
from foamwright.design.messages import mistake
from foamwright.registry import Kind


@dataclass(frozen=True, kw_only=True)
class Fields(FlatFields):
    """A trapezium, as the stones of an arch are."""

    widths: tuple[float, ...] = key(exactly(2, LENGTH, more_than=0), "At its foot and at its head.")
    height: float = key(LENGTH, "Between them.", more_than=0)
    at: Placement = key(Placement)


class Keystone(Kind):
    name = "keystone"
    fields = Fields

    def check(self, part, forms, source):
        if part.values["widths"][0] > part.values["widths"][1]:
            place = source.where(("parts", part.id, "widths"))
            raise mistake(place, "a foot wider than the head", "a keystone that cannot fall out")

    def body(self, part, among):
        from shapely.geometry import Polygon

        from foamwright.parts.flat import flat_body
        from foamwright.parts.placing import frame_at

        (foot, head), height = part.values["widths"], part.values["height"]
        points = [(-foot / 2, 0), (foot / 2, 0), (head / 2, height), (-head / 2, height)]
        return flat_body(Polygon(points), frame_at(part.values["at"], among.surface))


class Chopped(Keystone):
    """Modelled by itself: shorter than its outline says, its pattern with a word of its own."""

    name = "chopped"
    rank = "detail"

    def solid(self, piece):
        from foamwright.model.flat import flat_solid

        outline = piece.body.outline.copy()
        outline[:, 1] *= 0.5
        made = flat_solid(replace(piece.body, outline=outline), piece.thickness)
        return made.shape, made.faces

    def pattern(self, made, seams):
        from foamwright.section.plates import plate_pattern

        return replace(plate_pattern(made, seams), warnings=("chopped",))


KEYSTONE, CHOPPED = Keystone(), Chopped()
'''

DESIGN = """\
format: 1
name: Arch
version: 0.1.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1}, head: {value: 80 * scale}}
sizes: {only: {}}
stock: {foam: {name: Foam, thickness: 10, sheet: [1000, 1000]}}
forms: {}
parts:
  key: {kind: keystone, stock: foam, widths: [60, head], height: 50, at: {normal: x}}
  low: {kind: chopped, stock: foam, widths: [60, head], height: 50, at: {origin: [99, 0, 0], normal: x}, after: [key]}
"""

ASK = """\
import json, sys
import foamwright
from foamwright.assembly.bodies import bodies_of
from foamwright.booklet.words.order import order
from foamwright.assembly.ways_in import Ways
from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.design.editor import schema_text
from foamwright.making import Request, Stages
from foamwright.registry import given_by, kinds

design = foamwright.load(sys.argv[1])
stages = Stages(Request(design))
bodies = bodies_of(stages.model, find_contacts(solids(stages.model)))
print(json.dumps({
    "area": {p.piece.id: p.area for p in stages.patterns.patterns},
    "warnings": {p.piece.id: p.warnings for p in stages.patterns.patterns},
    "outline": [list(map(float, point)) for point in stages.patterns.pattern("key").outline],
    "given": {k.name: given_by(k.name) for k in kinds() if given_by(k.name)},
    "editor": "keystone" in schema_text(),
    "steps": [step.title for step in order(stages.patterns.prop, stages.patterns, Ways(bodies))],
    "digest": design.digest,
}))
"""


@pytest.fixture
def package(tmp_path):
    """A folder as on sys.path, with a package of two kinds installed in it."""
    site = tmp_path / "site"
    info = site / "archkinds-1.2.dist-info"
    info.mkdir(parents=True)
    (site / "archkinds.py").write_text(MODULE)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: archkinds\nVersion: 1.2\n")
    (info / "entry_points.txt").write_text(
        "[foamwright.kinds]\nkeystone = archkinds:KEYSTONE\nchopped = archkinds:CHOPPED\n"
    )
    (tmp_path / "arch.yaml").write_text(DESIGN)
    return site


def run(site, *arguments):
    return subprocess.run(
        [sys.executable, *arguments],
        env={"PYTHONPATH": f"{SOURCE}:{site}", "PATH": "/usr/bin:/bin", "HOME": str(site)},
        capture_output=True,
        text=True,
        timeout=600,
    )


def test_a_kind_of_an_installed_package_is_built_to_a_pattern(package):
    done = run(package, "-c", ASK, package.parent / "arch.yaml")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["given"] == {"chopped": "archkinds 1.2", "keystone": "archkinds 1.2"}
    assert told["area"]["key"] == pytest.approx((60 + 80) / 2 * 50)  # of a trapezium
    assert sorted(abs(x) for x, _ in told["outline"]) == pytest.approx([30, 30, 40, 40])
    # a solid of its own is what its template is cut from, and its pattern is asked for
    assert told["area"]["low"] == pytest.approx((60 + 80) / 2 * 25)
    assert told["warnings"] == {"key": [], "low": ["chopped"]}
    assert not told["editor"]  # the file beside the designs has the kinds of the program only
    assert any("key" in title.lower() for title in told["steps"])


def test_the_digest_depends_on_the_version_of_the_package(package):
    ask = "import foamwright, sys; print(foamwright.load(sys.argv[1]).digest)"
    first = run(package, "-c", ask, package.parent / "arch.yaml").stdout
    metadata = package / "archkinds-1.2.dist-info" / "METADATA"
    metadata.write_text(metadata.read_text().replace("Version: 1.2", "Version: 1.3"))
    second = run(package, "-c", ask, package.parent / "arch.yaml").stdout
    assert len(first.strip()) == 64 and first != second


def test_mistakes_in_it_are_told_as_in_any_other(package):
    path = package.parent / "arch.yaml"
    for old, new, words in (
        ("widths: [60, head]", "widths: [160, head]", "a foot wider than the head; expected a keystone that cannot"),
        ("widths: [60, head]", "width: [60, head]", "unknown key 'width' in parts.key; did you mean widths?"),
        ("kind: keystone", "kind: keyston", "did you mean keystone?"),
    ):
        path.write_text(DESIGN.replace(old, new, 1))
        done = run(package, "-m", "foamwright", "check", str(path))
        assert done.returncode == 2 and words in done.stderr, done.stderr
        assert "Traceback" not in done.stderr and len(done.stderr.splitlines()) == 1


def test_without_the_package_the_kind_is_unknown(package, tmp_path):
    done = run(tmp_path / "nothing", "-m", "foamwright", "check", str(tmp_path / "arch.yaml"))
    assert done.returncode == 2 and "'keystone' in parts.key.kind" in done.stderr


@pytest.mark.parametrize(
    "module, words",
    [
        ("import nothing_of_that_name\n", "No module named 'nothing_of_that_name'"),
        ("KEYSTONE = 3\n", "3 is no kind of part"),
        ("class Kind:\n    name = 'disc'\nKEYSTONE = Kind()\n", "is no kind of part"),
        (MODULE.replace('"keystone"', '"disc"'), "there is a kind of part called 'disc' already"),
        (MODULE.replace('"keystone"', '"Key stone"'), "is called 'Key stone'"),
        (MODULE.replace("fields = Fields", 'fields = Fields\n    rank = "bulkhed"'), "did you mean bulkhead?"),
    ],
)
def test_a_package_that_gives_no_kind_is_named(package, module, words):
    (package / "archkinds.py").write_text(module)
    entries = package / "archkinds-1.2.dist-info" / "entry_points.txt"
    entries.write_text("[foamwright.kinds]\nkeystone = archkinds:KEYSTONE\n")
    done = run(package, "-m", "foamwright", "check", str(package.parent / "arch.yaml"))
    assert done.returncode == 1, done.stderr
    assert "'keystone' (archkinds:KEYSTONE)" in done.stderr and words in done.stderr
    assert "Traceback" not in done.stderr and len(done.stderr.splitlines()) == 1


def test_an_unknown_kind_is_an_error_with_the_nearest_word():
    with pytest.raises(DesignError, match=r"unknown kind of part 'bulkhed'; .*; did you mean bulkhead\?$"):
        kind("bulkhed")


def test_every_module_of_the_package_is_a_kind():
    folder = SOURCE / "foamwright" / "kinds"
    modules = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    assert modules <= {one.name for one in kinds()}


@dataclass(frozen=True, kw_only=True)
class Fields(PartFields):
    """A test."""

    size: float = key(LENGTH, "Its size.")


def named(name, fields=Fields):
    return type("Named", (Kind,), {"name": name, "fields": fields})()


@pytest.mark.parametrize("places", [{"rank": ""}, {"rank": "first"}, {"rank_on_shell": "x"}, {"rank_of_small": 3}])
def test_a_place_in_the_order_that_is_none_is_told_at_once(places):
    new = type("Named", (Kind,), {"name": "placed", "fields": Fields, **places})()
    with pytest.raises(
        ValueError, match=f"the {next(iter(places))} of the kind 'placed' is .*; expected one of panel, "
    ):
        register(new)
    assert "placed" not in {one.name for one in kinds()}


@pytest.mark.parametrize(
    "wrong", [named("disc"), named("Disc"), named(""), named("fine", fields=dict), Kind(), "disc", None]
)
def test_what_is_no_kind_or_has_a_taken_name_is_not_registered(wrong):
    before = kinds()
    with pytest.raises(ValueError, match="kind"):
        register(wrong)
    assert kinds() == before
