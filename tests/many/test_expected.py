"""How long packs are said to take, held against what was measured."""

from __future__ import annotations

from pathlib import Path

import pytest

from foamwright import expected
from foamwright.design import load
from foamwright.making import stages_of
from foamwright.outputs import NAMES
from foamwright.pipeline import STAGES
from foamwright.terminal import ProgressLine

DESIGNS = Path(__file__).parents[2] / "designs"
WHOLE = stages_of(NAMES)

# processor seconds of whole packs, alone on the machine of the fit (tests.benchmarks.stages)
MEASURED = {
    ("acorn-bed", "cat"): 65.0,
    ("beetle-shoulder", "adult"): 18.0,
    ("harbour-lantern", "table"): 19.0,
    ("pocket-submarine", "plush"): 53.0,
}


@pytest.mark.parametrize("name, size", MEASURED)
def test_what_is_expected_is_what_was_measured_within_a_factor(monkeypatch, name, size):
    monkeypatch.setattr(expected, "_timed", lambda: expected._SUM_TOOK)
    seconds = expected.seconds_for([load(DESIGNS / f"{name}.yaml", size)], WHOLE, 1, 1)
    assert 1 / 1.5 < seconds / MEASURED[name, size] < 1.5


def test_a_slow_machine_takes_longer_and_two_processes_less_time(monkeypatch):
    design = load(DESIGNS / "beetle-shoulder.yaml", "adult")
    monkeypatch.setattr(expected, "_timed", lambda: expected._SUM_TOOK)
    alone = expected.seconds_for([design], WHOLE, 1, 1)
    assert alone / 2.0 < expected.seconds_for([design], WHOLE, 1, 2) < alone
    assert expected.seconds_for([design] * 4, WHOLE, 2, 1) == pytest.approx(2.0 * alone)
    monkeypatch.setattr(expected, "_timed", lambda: 3.0 * expected._SUM_TOOK)
    assert expected.seconds_for([design], WHOLE, 1, 1) == pytest.approx(3.0 * alone)


def test_what_is_not_asked_for_takes_no_time(monkeypatch):
    monkeypatch.setattr(expected, "_timed", lambda: expected._SUM_TOOK)
    assert expected._SHARES.keys() <= STAGES.keys()
    assert sum(expected._SHARES.values()) + expected._REST == 100
    design = load(DESIGNS / "pocket-submarine.yaml", "plush")

    def seconds(stages):
        return expected.seconds_for([design], stages, 1, 1)

    assert seconds(WHOLE - {"proof"}) == pytest.approx(0.82 * seconds(WHOLE))
    assert seconds(stages_of(["cut_list"])) < 0.5 * seconds(WHOLE)
    assert "proof" in stages_of(["templates"]) and "steps" not in stages_of(["templates"])


@pytest.mark.parametrize("seconds, told", [(59.0, ""), (61.0, "about 1 min"), (100.0, "about 2 min")])
def test_a_long_time_is_told_to_the_nearest_minute(capsys, seconds, told):
    ProgressLine(["prop large"], quiet=False).warn(seconds)
    assert (told in capsys.readouterr().err) if told else not capsys.readouterr().err
