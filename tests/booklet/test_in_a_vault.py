"""A part that goes into the hollow of bent foam with its edge is glued to the inside of that; what lies under a flat face is glued
to its underside."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from block_props import piece as block
from block_props import scene
from sample_prop import sample

from foamwright.assembly.meetings import Meeting
from foamwright.booklet.words.relations import relation, sentence
from foamwright.parts.records import PanelBody


def panel():
    return next(piece for piece in sample()[0].pieces if isinstance(piece.body, PanelBody))


@pytest.mark.parametrize(("turn", "so"), [(180.0, "inside"), (60.0, "under"), (0.0, "under")])
def test_a_cheek_in_a_vault_is_told_from_a_board_under_a_shell(turn, so):
    """An arc of so many degrees, from which the way to the cheek leads to its middle: the mean of unit ways over an angle a is
    sin(a / 2) / (a / 2) long, 0.64 over half a round and 0.95 over 60 degrees."""
    found = scene(block("cheek", (6, 100, 50)), block("lid", (200, 112, 6), (0, 0, 28)))
    at = np.radians(np.linspace(-turn / 2.0, turn / 2.0, 61))
    ways = np.column_stack([np.zeros_like(at), np.sin(at), -np.cos(at)])
    touch = replace(found.touches[0, 1], places=-50.0 * ways, normals=ways, areas=np.ones(len(at)))
    bodies = SimpleNamespace(touches={(0, 1): touch}, pieces=(found.pieces[0], panel()))
    met = Meeting("cheek", "lid", 61.0, 1, (0.0, 0.0, -1.0), False, True, False, False, 0.1, "contact", 1, ((0, 1),))
    assert relation(met, found.pieces[0], 0.0, bodies) == so
    line = sentence(False, so, "contact", "the cheek (A)", "the lid (B)", 1, 1, ("A", "B"), "")
    assert ("to the inside of the lid" in line) == (so == "inside")
