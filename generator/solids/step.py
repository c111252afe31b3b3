"""The prop as a STEP file (ISO 10303-21, AP214): named solids in the colours of their foam, in mm."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

from generator.errors import BuildError
from generator.solids.assembly import Assembly, location
from generator.solids.colours import rgb

EPOCH = "1970-01-01T00:00:00"  # STEP asks for a time stamp; a real one would make every build differ


def step_bytes(assembly: Assembly) -> bytes:
    """One assembly named as the design, a component for every copy. Same assembly, same bytes."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    root = shapes.NewShape()
    _name(root, assembly.prop.design.name)
    prototypes: dict[int, TDF_Label] = {}
    for copy in assembly.copies:
        if id(copy.hand) not in prototypes:
            prototype = shapes.AddShape(copy.hand.wrapped, False)
            _name(prototype, f"{copy.piece.label} {copy.piece.name}")
            colour = Quantity_Color(*rgb(copy.piece.stock.colour), Quantity_TypeOfColor.Quantity_TOC_sRGB)
            colours.SetColor(prototype, colour, XCAFDoc_ColorType.XCAFDoc_ColorGen)
            prototypes[id(copy.hand)] = prototype
        component = shapes.AddComponent(root, prototypes[id(copy.hand)], location(copy.matrix).wrapped)
        _name(component, copy.name)
    shapes.UpdateAssemblies()
    return _normalised(_written(document), assembly.prop.design.name)


def _written(document: TDocStd_Document) -> str:
    writer = STEPCAFControl_Writer()
    writer.SetColorMode(True)
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


def _normalised(text: str, name: str) -> bytes:
    """Replace what depends on the clock, the folder or on how many files were written before."""
    quoted = name.replace("'", "''").encode("ascii", "replace").decode()
    header = f"FILE_NAME('{quoted}','{EPOCH}',(''),(''),'','','');"
    text = re.sub(r"FILE_NAME\(.*?\);", lambda _: header, text, count=1, flags=re.DOTALL)
    counters: dict[str, str] = {}

    def renumbered(match: re.Match) -> str:
        return counters.setdefault(match[0], f"'{quoted} {len(counters) + 1}'")

    text = re.sub(r"'Open CASCADE STEP translator[^']*'", renumbered, text)
    return text.encode("utf-8")


def _name(label: TDF_Label, text: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(text, True))
