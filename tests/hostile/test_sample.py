"""A few of each class of hostile input, chosen by a fixed seed; `python -m tests.hostile` tries them all."""

import random
import sys

import pytest

from tests.hostile.__main__ import Workers, attempt
from tests.hostile.inputs import CLASSES
from tests.hostile.trial import CHECK_BYTES, CHECK_SECONDS

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="limits of processes as Linux has them")


@pytest.fixture(scope="module")
def workers():
    servers = Workers(1, ("check",))
    yield servers
    servers.close()


@pytest.mark.parametrize("name", [name for name in CLASSES if name != "step"])
def test_checking_ends_in_one_line(name, workers, tmp_path):
    trials = CLASSES[name]()
    for trial in random.Random(1).sample(trials, 12):
        if trial.call and trial.call[0] == "build":
            continue
        outcome = attempt(trial, tmp_path / "x", workers, only="check")
        expected = [bad for bad in outcome.bad if "refused" not in bad]  # the build may be what refuses it
        assert not expected, (trial.name, expected, outcome.last.err)
        assert outcome.last.seconds < CHECK_SECONDS and outcome.last.peak < CHECK_BYTES
