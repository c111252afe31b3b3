"""The prop as the kernel writes it as STEP (ISO 10303-21, AP214): named solids, in mm."""

from __future__ import annotations

import tempfile
from pathlib import Path

from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from foamwright.errors import BuildError
from foamwright.model.records import Model, location
from foamwright.model.step_text import StepText


def step_text(model: Model) -> StepText:
    """One assembly named as the design, a component for every copy."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    root = shapes.NewShape()
    _name(root, model.prop.design.name)
    prototypes: dict[str, TDF_Label] = {}
    colours: list[str] = []
    for copy in model.copies:
        if copy.prototype.key not in prototypes:
            prototype = shapes.AddShape(copy.prototype.solid, False)
            _name(prototype, f"{copy.piece.label} {copy.piece.name}")
            prototypes[copy.prototype.key] = prototype
            colours.append(copy.piece.stock.colour)
        component = shapes.AddComponent(root, prototypes[copy.prototype.key], location(copy.matrix))
        _name(component, copy.name)
    shapes.UpdateAssemblies()
    return StepText(_written(document), tuple(colours), model.prop.design.name)


def _written(document: TDocStd_Document) -> str:
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    for key, value in (("write.step.schema", "AP214IS"), ("write.step.unit", "MM")):
        Interface_Static.SetCVal_s(key, value)
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "prop.step"
        writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
        if writer.Write(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise BuildError("the STEP file could not be written")
        return path.read_text(encoding="utf-8")


def _name(label: TDF_Label, text: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(text, True))
