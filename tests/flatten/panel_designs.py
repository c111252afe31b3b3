"""Small designs for the tests of panels: written as YAML, loaded, built and laid flat. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import numpy as np
import yaml

from foamwright.design import load
from foamwright.flatten.records import Patterns
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.records import Prop
from foamwright.section.build import section_and_flatten

DESIGNS = Path(__file__).parents[2] / "designs"


def stock(thickness=6.0, k=0.5, strain=0.03, **more) -> dict:
    return {
        "name": "Foam",
        "thickness": thickness,
        "k": k,
        "strain_limit": strain,
        "sheet": [1200, 2400],
        **more,
    }


def panel(form: str, where: Mapping[str, str], **more) -> dict:
    return {"kind": "panel", "stock": "foam", "form": form, "where": dict(where), **more}


def plane(normal, at: float | str = 0.0) -> dict:
    """A plane at `at`, multiplied by scale: a design that does not depend on its scale is refused."""
    return {"plane": {"normal": normal, "at": f"{at} * scale"}}


def prop(
    folder: Path,
    forms: Mapping,
    parts: Mapping,
    foam: Mapping | None = None,
    units: str = "mm",
    stocks: Mapping = MappingProxyType({}),
) -> Prop:
    """The parts in place of a design with one foam, and other `stocks`."""
    design = {
        "format": 1,
        "name": "Test",
        "version": "1.0.0",
        "licence": "CC0-1.0",
        "units": units,
        "parameters": {"scale": {"value": 1}, "clearance": {"value": 0, "unit": "mm"}},
        "sizes": {"one": {}},
        "stock": {"foam": dict(foam or stock()), **stocks},
        "forms": dict(forms),
        "parts": dict(parts),
    }
    path = folder / "test.yaml"
    path.write_text(yaml.safe_dump(design, sort_keys=False), encoding="utf-8")
    return build_prop(load(path))


def laid_flat(folder: Path, forms: Mapping, parts: Mapping, foam: Mapping | None = None, **more) -> Patterns:
    return section_and_flatten(build_model(prop(folder, forms, parts, foam, **more)))


def polygon_area(ring: np.ndarray) -> float:
    """Signed, mm2; counter-clockwise is positive (the shoelace formula)."""
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def polyline_length(points: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
