"""Numbers out of all measure: counts and layers, radii and extents, forms and panels, expressions and lengths."""

# ruff: noqa: PERF401 - a table of cases reads better as loops

from __future__ import annotations

from tests.hostile.trial import Trial, bowl, changed, tag, text

COUNTS = (0, -1, 1.5, 100_000, 10**9, "1e300", "nan", 10**400, True, None)
LENGTHS = (0, -1, "1e-300", 1e-9, 1e5, 1e9, "1e300", "1e308 * 10", "5 deg", ".inf")


def _changes(design: dict, changes: list[tuple[str, object]]) -> list[Trial]:  # type: ignore[type-arg]
    return [
        Trial(f"{route} {str(value)[:40]}", {"tag.yaml": text(changed(design, route, value))})
        for route, value in changes
    ]


def counts() -> list[Trial]:
    row = tag(repeat={"count": 2, "step": [100, 0, 0]})
    around = tag(repeat={"around": {"count": 2, "axis": "z", "centre": [200, 0, 0]}})
    grid = tag(repeat={"grid": {"counts": [2, 2], "steps": [[100, 0, 0], [0, 100, 0]]}})
    hole = {"circle": {"radius": 1}, "repeat": {"grid": {"counts": [2, 2], "steps": [[5, 0], [0, 5]]}}}
    holes = tag(minus=[hole])
    found = _changes(row, [("parts.tag.repeat.count", v) for v in (*COUNTS, 300, 5000)])
    found += _changes(around, [("parts.tag.repeat.around.count", v) for v in (100_000, 10**9, 1000)])
    found += _changes(
        grid, [("parts.tag.repeat.grid.counts", v) for v in ([1000, 1000], [10**9, 1], [40, 40], [1], [0, 5])]
    )
    found += _changes(tag(), [("parts.tag.layers", v) for v in (*COUNTS, 300)])
    found += _changes(
        holes, [("parts.tag.minus.0.repeat.grid.counts", v) for v in ([1000, 1000], [10**6, 1], [60, 60])]
    )
    rod = tag()
    rod["parts"]["tag"] = {
        "kind": "rod",
        "stock": "foam",
        "from": [0, 0, 0],
        "to": [0, 0, 100],
        "made": "wrapped",
        "diameter": 40,
        "padding": "0 * scale",
    }
    found += _changes(rod, [("parts.tag.sides", v) for v in (2, 25, 10**9, 24)])
    prism = tag()
    prism["parts"]["tag"] = {"kind": "prism", "stock": "foam", "sides": 6, "radius": "60 * scale", "height": 80}
    found += _changes(prism, [("parts.tag.sides", v) for v in (2, 60, 61, 10**9)])
    strips = tag()
    strips["parts"]["strip"] = {"kind": "strip", "stock": "foam", "length": 500, "width": "20 * scale", "count": 1}
    found += _changes(strips, [("parts.strip.count", v) for v in (300, 100_000, 10**12)])
    many = tag()
    for i in range(3000):
        many["parts"][f"p{i}"] = many["parts"]["tag"]
    found.append(Trial("3,000 parts", {"tag.yaml": text(many)}))
    loft = tag()
    loft["parts"]["tag"] = {
        "kind": "stack",
        "stock": "foam",
        "rounds": [{"radius": 20}] * 2,
        "at": {"normal": "z"},
        "padding": "0 * scale",
    }
    found += _changes(loft, [("parts.tag.rounds", [{"radius": 20}] * n) for n in (0, 300, 20_000)])
    return found


def extents() -> list[Trial]:
    found = []
    for shape, keys in (
        ({"circle": {"radius": 40}}, ("circle.radius", "circle.centre.0")),
        ({"rectangle": {"width": 40, "height": 30}}, ("rectangle.width", "rectangle.corner")),
        ({"slot": {"length": 40, "width": 10}}, ("slot.length", "slot.width")),
        ({"superellipse": {"width": 40, "height": 30}}, ("superellipse.width", "superellipse.exponent")),
    ):
        design = tag(shape)
        for key in keys:
            if key == "circle.centre.0":
                found += _changes(design, [("parts.tag.outline.circle.centre", [v, 0]) for v in LENGTHS])
            else:
                found += _changes(design, [(f"parts.tag.outline.{key}", v) for v in LENGTHS])
    spots = ([[0, 0], [9, 0], [9, 0], [0, 9]], [[0, 0]] * 4, [[0, 0], [1e300, 0], [0, 1e300]], [[0, 0], [1e-200, 0], [0, 1e-200]],
             [[0, 0], [9, 9], [9, 0], [0, 9]], [[0, 0], [9, 0]], [[i % 97, i * 7 % 89] for i in range(30000)],
             [[0, 0], [50, 0], [50, 50], [50.0000001, 0], [0, 50]])  # fmt: skip
    for i, points in enumerate(spots):
        for shape in ("polygon", "spline"):
            found.append(Trial(f"{shape} {i}", {"tag.yaml": text(tag({shape: {"points": points}}))}))
    found += _changes(tag(), [(f"stock.foam.{key}", v) for key, values in (
        ("thickness", ("1e-300", 1e-6, 1e6, "90 deg", "1e300", 0)), ("sheet", ([1e-9, 1e-9], [1e300, 1e300], [1, 1], ["5 deg", 5])),
        ("gap", (1e9, "3 deg", 300)), ("edge", (1e9, 300)), ("k", ("1 mm", 2)), ("density", ("1e300", "1 mm")), ("kerf", (1e9, 50)),
        ("price", ("1e300", "1e-300")), ("strain_limit", ("1e-300", 1e-9)), ("roll", (1e-9, 1e300)),
    ) for v in values])  # fmt: skip
    found += _changes(
        tag(),
        [("parts.tag.at", {"normal": n}) for n in ([1e300, 0, 0], [1e-300, 0, 0], ["1 mm", 0, 0], [1e200, 1e200, 1])],
    )
    found += _changes(
        tag(), [("parts.tag.at", {"normal": "z", "origin": [v, 0, 0]}) for v in (1e300, 1e9, "5 deg", 1e-300)]
    )
    ring = tag()
    ring["parts"]["tag"] = {
        "kind": "ring",
        "stock": "foam",
        "outer_radius": 50,
        "inner_radius": 30,
        "padding": "0 * scale",
        "at": {"normal": "z"},
    }
    found += _changes(ring, [("parts.tag.inner_radius", v) for v in (50, 60, 49.9999999, 1e-300)])
    lettered = [("height", 1e-300), ("height", 1e9), ("height", "1e300"), ("value", "x" * 10_000), ("value", " "), ("value", "\n"),
                ("value", "\u202e"), ("value", "漢字"), ("value", "\U0001f600"), ("value", "\0")]  # fmt: skip
    for shape in ("text", "stencil_text"):
        given = {"value": "AB", "height": 20}
        found += [
            Trial(f"{shape} {key} {str(v)[:20]!r}", {"tag.yaml": text(tag(minus=[{shape: {**given, key: v}}]))})
            for key, v in lettered
        ]
    nested: object = {"circle": {"radius": 40}}
    for _ in range(60):
        nested = {"circle": {"radius": 40}, "plus": [nested]}
    found.append(Trial("outline in outline, 60 deep", {"tag.yaml": text(tag(nested))}))
    return found


def forms() -> list[Trial]:
    base = bowl()
    found = [Trial("plain", {"tag.yaml": text(base)}, expects="built")]
    profiles = ([[0, 0], [1, 0]], [[-100, 1e-300], [100, 1e-300]], [[-1e300, 60], [1e300, 60]], [[-100, 60], [-100.0000001, 60]],
                [[-100, 60], [-99.9999999, 60], [100, 60]], [[-100, 1e6], [100, 1e6]], [[-100, 60], [100, -60]], [[0, 60]],
                [[i, 60 + i % 2] for i in range(-200, 200)], [[i * 0.05, 60] for i in range(-20000, 20000)],
                [[-100, 60], [0, 1e-9], [100, 60]], [[-100, 60], [0, 6000], [100, 60]], [[-100, "60 deg"], [100, 60]],
                [[-1e-9, 1e-9], [1e-9, 1e-9]])  # fmt: skip
    found += _changes(base, [("forms.shell.profile", p) for p in profiles])
    found += _changes(changed(base, "forms.shell.smooth", False), [("forms.shell.profile", p) for p in profiles[:6]])
    found += _changes(base, [("forms.shell.origin", [v, 0, 0]) for v in (1e300, 1e9, 1e-300)])
    egg = bowl({"kind": "superellipsoid", "radii": [60, 60, 100]})
    for key in ("axis", "profile"):
        del egg["forms"]["shell"][key]
    found += _changes(egg, [("forms.shell.radii", [60, 60, v]) for v in LENGTHS])
    found += _changes(egg, [("forms.shell.exponents", e) for e in ([0, 2], [0.01, 0.01], [0.5, 2], [0.9, 0.9], [1, 1], [1e300, 2], [100, 100],
                                                                  [2, "1 mm"], [1e-300, 2], [8, 8])])  # fmt: skip
    loft = bowl(
        {"kind": "loft", "axis": "z", "sections": [{"at": a, "width": 100, "height": 100} for a in (-100, 0, 100)]}
    )
    del loft["forms"]["shell"]["profile"]
    found += _changes(
        loft, [(f"forms.shell.sections.1.{k}", v) for k in ("width", "exponent", "at") for v in (*LENGTHS[:8], 0.3)]
    )
    found += _changes(
        loft, [("forms.shell.sections", [{"at": a * 0.01, "width": 100, "height": 100} for a in range(-10000, 10000)])]
    )
    found += _changes(
        base, [("parts.side.where", w) for w in ({}, {"low": "beyond"}, {"low": "before", "high": "beyond"})]
    )
    found += _changes(base, [("parts.side.opened", v) for v in (0, 1e300, "1 mm", 1e-300)])
    found += _changes(base, [("parts.side.darts", d) for d in (
        [{"edge": "low", "depth": 1e300}], [{"edge": "low", "depth": 1e-300}], [{"edge": "low", "depth": 10}] * 2, [{"edge": "low", "depth": 10}] * 500,
        {"count": 10**6}, {"count": 300}, {"at": [0.5] * 10000}, "auto", [{"edge": "low", "at": 0.9999999, "depth": 5}])])  # fmt: skip
    found += _changes(
        base, [("forms.shell.cuts.low.plane.at", v) for v in (1e300, 20, 19.9999999, -1e300, "1 deg", 200)]
    )
    found += _changes(base, [("forms.shell.cuts.half", c) for c in (
        {"plane": {"normal": [1e-300, 0, 0]}}, {"curve": {"points": [[0, 0], [0, 0]], "along": "x"}}, {"curve": {"points": [[0, 0], [1e300, 0]], "along": "x"}},
        {"line": {"through": [[0, 0, 0], [0, 0, 1e-9]]}}, {"curve": {"points": [[i % 9, i] for i in range(5000)], "along": "x"}},
        {"line": {"through": [[60, i % 3, i * 0.001] for i in range(3000)]}}, {"prism": {"outline": {"circle": {"radius": 1e-9}}, "along": "y"}},
        {"prism": {"outline": {"circle": {"radius": 1e6}}, "along": "y"}}, {"form": {"form": "shell"}})])  # fmt: skip
    found += _changes(
        base, [("parameters.scale.value", v) for v in (0, -1, 1e-9, 1e6, 1e300, "1 mm", "1 deg", 0.1, 50)]
    )
    found += _changes(base, [("parameters.clearance.value", v) for v in (-1, 1e9, "1 deg")])
    floor = {
        "kind": "bulkhead",
        "stock": "foam",
        "form": "shell",
        "plane": {"normal": "z"},
        "after": ["side"],
        "rests_on": ["side"],
    }
    held = changed(base, "parts.floor", floor)
    found += _changes(held, [("parts.floor.clearance", v) for v in (1, 59.9999, 60, 1e9, -1)])
    band = {
        "kind": "band",
        "stock": "foam",
        "along": {"hoop": {"form": "shell", "plane": {"normal": "z"}}},
        "over": ["side"],
        "width": 20,
    }
    banded = changed(base, "parts.band", band)
    found += _changes(banded, [("parts.band.width", v) for v in (20, 1e-9, 1e9, 1e300)])
    found += _changes(
        banded,
        [
            ("parts.band.span", s)
            for s in ({"angles": [0, 1e300]}, {"angles": [0, 0]}, {"shares": [0, 1e9]}, {"shares": [0.5, 0.5000001]})
        ],
    )
    return found


def expressions() -> list[Trial]:
    values = [
        "round(1, -10**9)", "round(1.5, 400)", "round(1.5, -400)", "9" * 400, "1e999999999", "1e-999999999", "10**400", "2**2**2**2**2**2",
        "9**9**9", "(-1)**0.5", "1/0", "0**-1", "1/0 mm", "0/0", "nan", "inf", "-inf", "1e308*10", "1_000", "0x10", "0b1", "0o7", "1j", "1+1j",
        "'a'*10**9", "'a'", "[1]*10**9", "(1,2)", "{}", "lambda: 1", "__import__('os')", "scale.__class__", "().__class__", "scale()", "min()",
        "max(1)", "min(*[1])", "sin(x=1)", "sqrt(-1)", "asin(2)", "atan2(0)", "floor(1e308)", "ceil(1e300)", "round(1e300)", "round(nan)", "tan(90)",
        "1 if 2", "1 if 2 > 1 else", "1 < 2", "not 1", "1 and 2", "1 and 2 or 3", "1 < 2 < 3", "x", "scale scale", "scale mm", "mm", "3 mm mm",
        "3 mm cm", "3 / 0 in", "1 1/0 in", "5' 3", "5' 3 1/2\"", "5'", "''", "\"\"", "1 1/8", "1/8 mm", "1 1/8 in", "3/16\"", "2,5 mm", "2.5.5", "2..5",
        "+-+-1", "-" * 400 + "1", "(" * 200 + "1" + ")" * 200, "(" * 90 + "1" + ")" * 90, "1" + "+1" * 240, "1" + "+1" * 400, "-" * 499 + "1",
        "abs(" * 80 + "1" + ")" * 80, "1 if 1 else " * 30 + "1", "a" * 499, "1e5 mm", "1 m", "1 km", "1 in", "1 IN", "1 ″", "1 ′", "１", "٣", "²", "½ in",
        "1\n+1", "1\r\n", "1\t", "\x00", "1\x00", "\x1b[31m", "\n::error::x", "\u2028", "1 # comment", "# comment", ";", "1;2", "1\\\n+1", "x := 3", "(x := 3)",
        "yield", "await 1", "f'{1}'", "f'{scale}'", "...", "None", "True", "False", "True + 1", "min(True, 2)", "pi", "pi()", "pi mm", "e", "1e", "1e+", "1 e5",
        "1 mm * 1 mm", "1 mm / 1 mm", "1 deg", "90 deg + 1 mm", "1 mm + 1", "sin(1 mm)", "sqrt(1 mm)", "2 ** 1 mm", "1 mm ** 2", "1 % 2", "7 // 2", "1 & 1",
        "1 << 10**9", "1 << 5", "~1", "1 @ 1", "1 is 1", "1 in 1", "a.b", "a[0]", "a[0:1]", "(scale,)", "*scale", "**scale", "1, 2", "[scale]", "{scale}",
        "min(scale, scale", "scale)", "min scale", "import os", "exec(1)", "eval(1)", "print(1)", "open('x')", "len(1)", "sum([1])", "float('1e9')", "int(1)",
        "hex(1)", "chr(1)", "rand()", "range(10**9)", "any(1)", "length", "length + length", "-length", "length ** 9", "length ** 99", "length ** 0.001",
        "0 * length", "length - length", "length / 1e300", "1e-320", "1e-30", "5e-324 mm", "1.7976931348623157e308", "0.1+0.2", "007", "08", "1.", ".5", ".", "-",
        "0" * 400 + "1", "1." + "0" * 400, "1." + "0" * 400 + "1", "1e-400", "1 mm" * 60, "1 mm + " * 60 + "1 mm", "1/3 in", "1 / 3 in", "1 1/3/3 in", "3 / 4 / 5 in",
        "999999999999 in", "1 ft", "1 ft 3 in", "1 foot", "1'6", "1'6\"7", "6 mm thick", "approx 6", "~6", "6±1", "6-7 mm", "1 mm..2 mm", "6mm2", "6 mm^2", "2^3",
    ]  # fmt: skip
    found = [
        Trial(f"value {v[:50]!r}", {"tag.yaml": text(changed(tag(), "parameters.length.value", v))}) for v in values
    ]
    for v in ("1e999999999", "round(1, -10**9)", "1e-999999999", "5 deg", "9" * 4000, "scale=1"):
        found.append(Trial(f"--set length={v[:30]}", {"tag.yaml": text(tag())}, options=("--set", f"length={v}")))
    found.append(
        Trial("--set scale=1 mm", {"tag.yaml": text(tag())}, options=("--set", "scale=1 mm"), expects="refused")
    )
    inches = tag()
    inches["units"] = "in"
    for v in ("1e999999999", 1e300, 1e-300, "1e400", 10**400, "1e5", "-0", ".5"):
        found.append(Trial(f"inches {str(v)[:20]}", {"tag.yaml": text(changed(inches, "stock.foam.thickness", v))}))
    for route, v in (("stock.foam.thickness", "6 deg"), ("parameters.scale.value", "1 mm"), ("stock.foam.k", "0.5 mm"), ("parts.tag.layers", "2 mm"),
                     ("parts.tag.outline", {"circle": {"radius": "40 deg"}}), ("parts.tag.layers", "1 deg"),
                     ("parts.tag.outline", {"slot": {"length": 40, "width": 9, "angle": "5 mm"}})):  # fmt: skip
        found.append(
            Trial(f"dimension of {route} {v}", {"tag.yaml": text(changed(tag(), route, v))}, expects="refused")
        )
    chain = tag()
    chain["parameters"] |= {f"p{i}": {"value": f"p{i + 1} + 1"} for i in range(5000)} | {"p5000": {"value": "1"}}
    chain["parameters"]["length"]["value"] = "p0 * scale"
    found.append(Trial("chain of 5,000 parameters", {"tag.yaml": text(chain)}))
    circle = changed(chain, "parameters.p5000.value", "p0")
    found.append(Trial("circle of 5,000 parameters", {"tag.yaml": text(circle)}, expects="refused"))
    doubling = tag()
    doubling["parameters"] |= {f"p{i}": {"value": f"p{i + 1} * p{i + 1}"} for i in range(60)} | {"p60": {"value": "2"}}
    doubling["parameters"]["length"]["value"] = "p0 * scale"
    found.append(Trial("squares of squares", {"tag.yaml": text(doubling)}, expects="refused"))
    wide = tag()
    wide["parameters"] |= {f"q{i}": {"value": i} for i in range(20_000)}
    found.append(Trial("20,000 parameters", {"tag.yaml": text(wide)}))
    return found
