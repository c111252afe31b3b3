"""Folders that a gallery takes for packs, made in a moment: small files, and a record that lists them truly."""

import hashlib
import io
import json
import zipfile

import numpy as np
import trimesh
from PIL import Image

from foamwright.pack.files import MEDIA_TYPES

PARTS = (("side", "A", "Side", 4), ("lid", "B", "Lid", 1))


def make(folder, design="lamp", name="Lamp", version="1.0.0", size="small", width=200.0, **more):
    """Write the pack of a box. `more` goes into `about`; `record` among it changes the record itself."""
    changes = more.pop("record", {})
    files = _files(name, width)
    archive = f"{design}-{size}.zip"
    files[archive] = _zip(files)
    about = {
        "id": design,
        "author": "Nobody",
        "licence": "CC-BY-4.0",
        "summary": "A box that glows.",
        "address": "https://example.org/lamp",
        "language": "en",
        "size_note": "",
        "used_by": [],
        "history": [{"version": version, "text": "First of its kind.", "date": "2026-11-26"}],
        "choices": [
            choice("scale", 1.0, "", 0.5, 2.0),
            choice("candle", 50.0, "mm", 20.0, 90.0, "Across the candle."),
        ],
        **more,
    }
    outline = [[0.0, 0.0], [width, 0.0], [width, 80.0], [0.0, 80.0]]
    record = {
        "format": 1,
        "design": {
            "name": name,
            "version": version,
            "size": size,
            "parameters": {"candle": 50.0},
            "digest": hashlib.sha256(f"{name} {version} {size} {width}".encode()).hexdigest(),
        },
        "about": about,
        "work": {"difficulty": "easy", "hands_on": 130.0, "start_to_end": 400.0},
        "overall": [width, 100.0, 150.0],
        "materials": [
            {
                "id": "shell",
                "name": "Foam",
                "thickness": 6.0,
                "colour": "#aa8844",
                "type": "foam",
                "k": 0.5,
                "strain_limit": 0.03,
            }
        ],
        "parts": [
            {
                "id": part,
                "label": label,
                "name": called,
                "kind": "plate",
                "quantity": number,
                "mirrored": 0,
                "neutral_offset": 3.0,
                "material": "shell",
                "thickness": 6.0,
                "outline": outline,
                "holes": [],
                "darts": [],
                "edges": [],
                "area": 80.0 * width,
                "strain": {"max": 0.0, "p95": 0.0, "mean": 0.0},
            }
            for part, label, called, number in PARTS
        ],
        "seams": [],
        "sheets": [{"material": "shell", "size": [600.0, 1200.0], "placed": [], "used": 0.4}],
        "pages": [{"file": "templates.pdf", "paper": "a4", "page": 1, "row": 1, "column": 1, "parts": ["side", "lid"]}],
        "steps": [
            step(1, "Cut", ["side", "lid"], 60.0, ["knife"]),
            step(2, "Close the sides", ["side"], 40.0, ["contact-cement"]),
            step(3, "Put on the lid", ["lid"], 30.0, []),
        ],
        "fit": {
            "figure": "candle",
            "clearance_min": 2.0,
            "clearance_at": None,
            "contacts": [],
            "entry": None,
            "mass": 0.21,
            "centre_of_mass": None,
            "stability": None,
            "interferences": [],
        },
        "files": [entry(path, content) for path, content in sorted(files.items()) if path != archive],
        "archive": archive,
    }
    for path, content in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    (folder / "pack.json").write_text(json.dumps(record | changes), "utf-8")
    return folder


def entry(path, content):
    kind = MEDIA_TYPES["." + path.rpartition(".")[2]]
    return {"path": path, "sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content), "kind": kind}


def choice(name, value, unit, least, most, measure=""):
    return {"name": name, "value": value, "unit": unit, "min": least, "max": most, "note": "", "measure": measure}


def step(number, title, parts, minutes, cautions):
    found = {"number": number, "title": title, "parts": parts, "minutes": minutes, "cautions": cautions}
    return found | {"glue": "", "waits_for": [], "wait": 0.0}


def _files(name, width):
    return {
        "templates.pdf": b"%PDF-1.4 " + name.encode(),
        "booklet.html": f"<!DOCTYPE html><title>Booklet</title><p>{len(name)}".encode(),
        "shopping-list.csv": b"item,amount,unit,basis,cost,currency\nFoam,1,sheet,,12.50,EUR\n",
        "picture.png": _picture(),
        "model/prop.glb": _model(width),
        "templates/A.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    }


def _picture():
    out = io.BytesIO()
    Image.new("RGBA", (300, 400), (200, 120, 40, 255)).save(out, "PNG")
    return out.getvalue()


def _model(width):
    """Four sides and a lid, named as the program names copies."""
    scene = trimesh.Scene()
    for number in range(1, 5):
        angle = number * np.pi / 2
        place = trimesh.transformations.rotation_matrix(angle, [0, 1, 0])
        place = place @ trimesh.transformations.translation_matrix([0, 0, width / 2000])
        scene.add_geometry(trimesh.creation.box([width / 1000, 0.1, 0.006]), f"A Side ({number})", transform=place)
    lid = trimesh.transformations.translation_matrix([0, 0.06, 0])
    scene.add_geometry(trimesh.creation.box([width / 1000, 0.006, width / 1000]), "B Lid (1)", transform=lid)
    return scene.export(file_type="glb")


def _zip(files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, content in files.items():
            archive.writestr(zipfile.ZipInfo(f"pack/{path}"), content)
    return out.getvalue()
