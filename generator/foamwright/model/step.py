"""The prop as a STEP file (ISO 10303-21, AP214): named solids in the colours of their foam, in mm."""

from __future__ import annotations

import re
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
from foamwright.model.colours import rgb
from foamwright.model.records import Model, location
from foamwright.model.step_ids import with_stable_ids

EPOCH = "1970-01-01T00:00:00"  # STEP asks for a time stamp; a real one would make every build differ


def step_bytes(model: Model) -> bytes:
    """One assembly named as the design, a component for every copy. Same model, same bytes."""
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
    return with_stable_ids(_normalised(_coloured(_written(document), colours), model.prop.design.name)).encode()


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


def _coloured(text: str, colours: list[str]) -> str:
    """Add a surface colour to every solid, in the order of the file (ISO 10303-46 presentation).

    The kernel can do this too, but in an order that changes from run to run.
    """
    solids = re.findall(r"= ADVANCED_BREP_SHAPE_REPRESENTATION\('[^']*',\(#\d+,\s*(#\d+)\),\s*(#\d+)\);", text)
    if len(solids) != len(colours):
        raise BuildError(f"the STEP file holds {len(solids)} solids; expected {len(colours)}")
    free = 1 + max(int(n) for n in re.findall(r"^#(\d+) = ", text, flags=re.MULTILINE))
    lines: list[str] = []

    def add(entity: str) -> str:
        lines.append(f"#{free + len(lines)} = {entity};\n")
        return f"#{free + len(lines) - 1}"

    styles: dict[str, str] = {}
    for (solid, context), colour in zip(solids, colours):
        if colour not in styles:
            red, green, blue = rgb(colour)
            fill = add(f"COLOUR_RGB('',{red:.6f},{green:.6f},{blue:.6f})")
            for around in (
                "FILL_AREA_STYLE_COLOUR('',{})",
                "FILL_AREA_STYLE('',({}))",
                "SURFACE_STYLE_FILL_AREA({})",
                "SURFACE_SIDE_STYLE('',({}))",
                "SURFACE_STYLE_USAGE(.BOTH.,{})",
                "PRESENTATION_STYLE_ASSIGNMENT(({}))",
            ):
                fill = add(around.format(fill))
            styles[colour] = fill
        item = add(f"STYLED_ITEM('color',({styles[colour]}),{solid})")
        add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({item}),{context})")
    head, end = text.rsplit("ENDSEC;", 1)
    return head + "".join(lines) + "ENDSEC;" + end


def _normalised(text: str, name: str) -> str:
    """Replace what depends on the clock, the folder or on how many files were written before."""
    quoted = name.replace("'", "''").encode("ascii", "replace").decode()
    header = f"FILE_NAME('{quoted}','{EPOCH}',(''),(''),'','','');"
    text = re.sub(r"FILE_NAME\(.*?\);", lambda _: header, text, count=1, flags=re.DOTALL)
    counters: dict[str, str] = {}

    def renumbered(match: re.Match) -> str:
        return counters.setdefault(match[0], f"'{quoted} {len(counters) + 1}'")

    text = re.sub(r"'Open CASCADE STEP translator[^']*'", renumbered, text)
    links = iter(range(1, text.count("NEXT_ASSEMBLY_USAGE_OCCURRENCE(") + 1))
    text = re.sub(
        r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+',(.*?);",
        lambda m: f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{next(links)}'," + re.sub(r"\s*\n\s*", "", m[1]) + ";",
        text,
        flags=re.DOTALL,
    )
    return re.sub(r"[^\x00-\x7f]+", _escaped, text)


def _escaped(match: re.Match) -> str:
    """Characters beyond ASCII as ISO 10303-21 writes them: UTF-16 in hexadecimal, framed by X2 and X0."""
    return "\\X2\\" + match[0].encode("utf-16-be").hex().upper() + "\\X0\\"


def _name(label: TDF_Label, text: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(text, True))
