"""Meshes and STEP files as forms."""

from __future__ import annotations

import io
import math
import random
import struct
import subprocess
import sys
import tarfile
import zipfile
from functools import cache
from pathlib import Path

import numpy as np

from tests.hostile.trial import Place, Trial, bowl, fifo, folder, link, sparse, text

Ring = list[tuple[float, float, float]]


def can(sides: int = 24, rows: int = 8, radius: float = 60.0, half: float = 100.0) -> tuple[np.ndarray, np.ndarray]:
    """A closed drum about z."""
    angle = np.arange(sides) * 2 * math.pi / sides
    levels = np.linspace(-half, half, rows)
    points = np.vstack(
        [np.column_stack([radius * np.cos(angle), radius * np.sin(angle), np.full(sides, z)]) for z in levels]
    )
    points = np.vstack([points, [[0, 0, -half], [0, 0, half]]])
    faces = []
    for row in range(rows - 1):
        for i in range(sides):
            a, b = row * sides + i, row * sides + (i + 1) % sides
            faces += [(a, b, b + sides), (a, b + sides, a + sides)]
    low, high, top = rows * sides, rows * sides + 1, (rows - 1) * sides
    faces += [(low, (i + 1) % sides, i) for i in range(sides)] + [
        (high, top + i, top + (i + 1) % sides) for i in range(sides)
    ]
    return points, np.array(faces)


def stl(points: np.ndarray, faces: np.ndarray, count: int | None = None) -> bytes:
    out = io.BytesIO()
    out.write(b" " * 80 + struct.pack("<I", (len(faces) if count is None else count) & 0xFFFFFFFF))
    for face in faces:
        out.write(struct.pack("<12fH", 0, 0, 0, *np.asarray(points)[face].ravel().clip(-3e38, 3e38), 0))
    return out.getvalue()


def stl_text(points: np.ndarray, faces: np.ndarray, number: str = "{:g}") -> bytes:
    lines = ["solid x"]
    for face in faces:
        lines += ["facet normal 0 0 0", "outer loop"]
        lines += ["vertex " + " ".join(number.format(c) for c in points[i]) for i in face]
        lines += ["endloop", "endfacet"]
    return "\n".join([*lines, "endsolid x"]).encode()


def obj(points: np.ndarray, faces: np.ndarray, more: str = "") -> bytes:
    return (
        more
        + "".join(f"v {x:g} {y:g} {z:g}\n" for x, y, z in points)
        + "".join(f"f {a + 1} {b + 1} {c + 1}\n" for a, b, c in faces)
    ).encode()


def ply(points: np.ndarray, faces: np.ndarray, vertices: object = None, triangles: object = None) -> bytes:
    head = (f"ply\nformat ascii 1.0\nelement vertex {len(points) if vertices is None else vertices}\nproperty float x\nproperty float y\nproperty float z\n"
            f"element face {len(faces) if triangles is None else triangles}\nproperty list uchar int vertex_indices\nend_header\n")  # fmt: skip
    return (
        head + "".join(f"{x:g} {y:g} {z:g}\n" for x, y, z in points) + "".join(f"3 {a} {b} {c}\n" for a, b, c in faces)
    ).encode()


def _meshes() -> list[tuple[str, str, Place, str]]:
    points, faces = can()
    good_stl, good_obj, good_ply = stl(points, faces), obj(points, faces), ply(points, faces)
    found: list[tuple[str, str, Place, str]] = [
        ("plain STL", "a.stl", good_stl, "built"),
        ("plain text STL", "a.stl", stl_text(points, faces), "built"),
        ("plain OBJ", "a.obj", good_obj, "built"),
        ("plain PLY", "a.ply", good_ply, "built"),
    ]
    for kind, good in (("stl", good_stl), ("obj", good_obj), ("ply", good_ply)):
        found += [
            (f"{kind} cut at {n}", f"a.{kind}", good[:n], "either")
            for n in (0, 1, 10, 79, 84, 100, 133, len(good) // 2, len(good) - 1)
        ]
        found += [
            (f"{kind} is {name}", f"a.{kind}", place, "refused")
            for name, place in (
                ("a FIFO", fifo),
                ("a folder", folder),
                ("sparse, 10 GB", sparse(10**10)),
                ("/dev/zero", link("/dev/zero")),
                ("outside", link("/etc/hostname")),
            )
        ]
        found += [
            (f"{kind} with {name}", f"a.{kind}", content, "refused")
            for name, content in (
                ("text", b"hello\n"),
                ("HTML", b"<html></html>"),
                ("NULs", bytes(5000)),
                ("noise", random.Random(1).randbytes(5000)),
                ("a zip", zipped(good)),
            )
        ]
        for seed in range(6):
            flipped, chance = bytearray(good), random.Random(seed)
            for _ in range(4):
                flipped[chance.randrange(len(flipped))] = chance.randrange(256)
            found.append((f"{kind} with wrong bytes, {seed}", f"a.{kind}", bytes(flipped), "either"))
    for name, count in (("too many", 10**6), ("4 billion", 2**32 - 1), ("none", 0), ("one", 1)):
        found.append((f"STL says {name}", "a.stl", stl(points, faces, count), "either"))
    for name, pair in (
        ("vertices 10**9", (10**9, None)),
        ("faces 10**9", (None, 10**9)),
        ("vertices -1", (-1, None)),
        ("vertices x", ("x", None)),
        ("faces 10**30", (None, 10**30)),
        ("vertices 0", (0, None)),
    ):
        found.append((f"PLY says {name}", "a.ply", ply(points, faces, *pair), "refused"))
    odd = points.copy()
    for name, value in (("nan", math.nan), ("inf", math.inf), ("1e30", 1e30), ("1e300", 1e300)):
        odd[5] = value
        found += [
            (f"OBJ with {name}", "a.obj", obj(odd, faces), "refused"),
            (f"PLY with {name}", "a.ply", ply(odd, faces), "refused"),
            (f"STL with {name}", "a.stl", stl(odd, faces), "refused"),
        ]
    for name, p, f in (("tiny", points * 1e-30, faces), ("huge", points * 1e20, faces), ("flat", points * [1, 1, 0], faces), ("one point", points * 0, faces), ("one triangle", points, faces[:1]), ("no triangles", points, faces[:0]),
                       ("doubled", points, np.vstack([faces, faces])), ("open", points, faces[:-24]), ("inside out", points, faces[:, ::-1]), ("half turned", points, np.vstack([faces[::2], faces[1::2, ::-1]])), ("degenerate", points, np.vstack([faces, [[0, 0, 1]] * 500])),
                       ("two pieces", np.vstack([points, points + [300, 0, 0]]), np.vstack([faces, faces + len(points)])), ("index 10**9", points, np.vstack([faces, [[0, 1, 10**9]]])), ("index -5", points, np.vstack([faces, [[0, 1, -5]]])),
                       ("passing through itself", np.vstack([points, points + [30, 0, 0]]), np.vstack([faces, faces + len(points)])), ("far away", points + 1e9, faces)):  # fmt: skip
        found.append((name, "a.obj", obj(p, f), "either"))
        found.append((f"{name}, PLY", "a.ply", ply(p, f), "either"))
    big = can(1200, 300)
    found.append(("700,000 triangles", "a.stl", stl_fast(*big), "either"))
    found.append(("3,000,000 triangles", "a.stl", stl_fast(*can(3000, 500)), "refused"))
    found.append(
        ("OBJ with a material file", "a.obj", obj(points, faces, "mtllib ../../etc/passwd\nusemtl x\n"), "either")
    )
    found.append(("OBJ that calls", "a.obj", obj(points, faces, "call /etc/passwd\ncsh touch x\n"), "either"))
    found.append(
        (
            "OBJ of polygons",
            "a.obj",
            obj(points, faces) + b"f " + b" ".join(str(i + 1).encode() for i in range(len(points))) + b"\n",
            "either",
        )
    )
    gltf = b'{"asset":{"version":"2.0"},"buffers":[{"uri":"../../../etc/passwd","byteLength":10}],"meshes":[]}'
    for name, file, content in (("glTF", "a.gltf", gltf), ("glTF called STL", "a.stl", gltf), ("OFF", "a.off", b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"), ("zip", "a.zip", zipped(good_stl)), ("tar.gz", "a.tar.gz", tarred(good_stl)), ("3MF", "a.3mf", zipped(b"<model/>")), ("DAE", "a.dae", b"<COLLADA/>"),
                                ("XYZ", "a.xyz", b"0 0 0\n1 0 0\n"), ("YAML", "a.yaml", b"a: 1"), ("no ending", "a", good_stl), ("STL called OBJ", "a.obj", good_stl), ("OBJ called STL", "a.stl", good_obj), ("OBJ called PLY", "a.ply", good_obj), ("pickle", "a.pkl", b"cos\nsystem\n(S'x'\ntR."), ("GLB", "a.glb", b"glTF\x02\0\0\0")):  # fmt: skip
        found.append(
            (
                name,
                file,
                content,
                "either" if name in ("no ending",) else "refused" if "called" not in name else "either",
            )
        )
    return found


def stl_fast(points: np.ndarray, faces: np.ndarray) -> bytes:
    records = np.zeros(len(faces), dtype=[("n", "<3f4"), ("v", "<9f4"), ("a", "<u2")])
    records["v"] = points[faces].reshape(-1, 9)
    return b" " * 80 + struct.pack("<I", len(faces)) + records.tobytes()


def zipped(content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr("a.stl", content)
    return out.getvalue()


def tarred(content: bytes) -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w:gz") as file:
        entry = tarfile.TarInfo("a.stl")
        entry.size = len(content)
        file.addfile(entry, io.BytesIO(content))
    return out.getvalue()


def meshes() -> list[Trial]:
    found = []
    for name, file, content, expects in _meshes():
        design = bowl()
        design["forms"]["shell"] = {
            "kind": "mesh",
            "file": file,
            "crease": 60,
            "cuts": design["forms"]["shell"]["cuts"],
        }
        found.append(Trial(name, {"tag.yaml": text(design), file: content}, expects=expects))
    design = bowl()
    for key, values in (
        ("scale", (1e-300, 1e300, 1e-9, 0)),
        ("turn", ([1e300, 0, 0], ["1 mm", 0, 0])),
        ("smoothing", (1e9, 1e300, 50)),
        ("crease", (1, 180, 0)),
        ("at", ([1e300, 0, 0],)),
        ("unit", ("m",)),
    ):
        for value in values:
            form = {"kind": "mesh", "file": "a.stl", "crease": 60, "cuts": design["forms"]["shell"]["cuts"], key: value}
            found.append(
                Trial(f"{key} {value}", {"tag.yaml": text({**design, "forms": {"shell": form}}), "a.stl": stl(*can())})
            )
    return found


@cache
def drum() -> bytes:
    """A STEP file of a drum, made by the modelling library in a process of its own, which prints."""
    code = "import cadquery as cq; cq.exporters.export(cq.Workplane().circle(60).extrude(200, both=False).translate((0, 0, -100)), 'a.step')"
    import tempfile

    with tempfile.TemporaryDirectory() as scratch:
        subprocess.run([sys.executable, "-c", code], cwd=scratch, check=True, stdout=subprocess.DEVNULL)
        return (Path(scratch) / "a.step").read_bytes()


def steps() -> list[Trial]:
    good = drum()
    found: list[tuple[str, Place, str]] = [("plain", good, "built")]
    found += [
        (f"cut at {share:.0%}", good[: int(share * len(good))], "either")
        for share in (0, 0.01, 0.1, 0.3, 0.5, 0.8, 0.95, 0.999)
    ]
    for name, place in (("a FIFO", fifo), ("a folder", folder), ("sparse, 10 GB", sparse(10**10)), ("/dev/zero", link("/dev/zero")), ("text", b"hello"), ("HTML", b"<html>"), ("NULs", bytes(4000)), ("noise", random.Random(3).randbytes(4000)),
                        ("only a head", b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n"), ("IGES", b" " * 72 + b"S      1\n")):  # fmt: skip
        found.append((name, place, "refused"))
    chance = random.Random(5)
    start = good.index(b"DATA;")
    for seed in range(30):
        wrong = bytearray(good)
        for _ in range(1 + seed % 3):
            wrong[chance.randrange(start, len(wrong))] = chance.choice(
                b"#,;()'$*0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ. \n"
            )
        found.append((f"a wrong letter, {seed}", bytes(wrong), "either"))
    for name, old, new in (("huge numbers", b"60.", b"6.0E300"), ("nan", b"60.", b"NAN"), ("references to itself", b"#20 =", b"#19 ="), ("no solid", b"MANIFOLD_SOLID_BREP", b"MANIFOLD_SOLID_BREQ"), ("negative radius", b"60.)", b"-60.)"),
                           ("zero radius", b",60.)", b",0.)"), ("reference to nothing", b"#30,", b"#999999999,"), ("a long string", b"''", b"'" + b"x" * 10**6 + b"'"), ("1e9 entities", b"#30 ", b"#1000000000 ")):  # fmt: skip
        found.append((name, good.replace(old, new), "either"))
    trials = []
    for name, content, expects in found:
        design = bowl()
        design["forms"]["shell"] = {"kind": "step", "file": "a.step", "cuts": design["forms"]["shell"]["cuts"]}
        trials.append(Trial(name, {"tag.yaml": text(design), "a.step": content}, expects=expects))
    solid = {"kind": "solid", "stock": "foam", "step": "a.step", "at": {"normal": "z"}}
    for name, content, _ in found[:20]:
        plain = changed_part(solid)
        trials.append(Trial(f"part: {name}", {"tag.yaml": plain, "a.step": content}))
    return trials


def changed_part(part: dict[str, object]) -> bytes:
    from tests.hostile.trial import tag

    design = tag()
    design["parts"] = {"tag": part}
    design["parts"]["ring"] = {
        "kind": "disc",
        "stock": "foam",
        "radius": "length",
        "at": {"normal": "z", "origin": [0, 0, 500]},
    }
    return text(design)
