"""`model/prop.step` and `model/prop.glb`: the assembled solids, for CAD and for viewers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from foamwright.outputs.records import Files, Output

if TYPE_CHECKING:  # CadQuery takes seconds to load
    from foamwright.model.records import Model


def files(model: Model, step_file: bytes) -> Files:
    from foamwright.model.gltf import gltf_bytes

    return {"model/prop.step": step_file, "model/prop.glb": gltf_bytes(model)}


OUTPUT = Output("model", "the assembled solids as STEP and glTF", files)
