"""Tags against designs of known versions; versions are ordered by Semantic Versioning 2.0.0, paragraph 11."""

from types import SimpleNamespace

import pytest

from foamwright.changes.tags import tagged
from foamwright.errors import BuildError


def designs(**versions):
    return {
        f"designs/{name}.yaml": SimpleNamespace(id=name, version=version, history=[{"version": version, "text": "x"}])
        for name, version in versions.items()
    }


def test_a_plain_tag_stands_for_all_designs():
    assert tagged("v1.10.0", designs(lamp="1.10.0", boat="1.9.0")) == ["designs/lamp.yaml", "designs/boat.yaml"]


def test_a_tag_of_a_design_stands_for_it_alone():
    assert tagged("lamp-v1.0.0", designs(lamp="1.0.0", boat="2.0.0")) == ["designs/lamp.yaml"]
    assert tagged("sea-lamp-v1.0.0-rc.1", designs(**{"sea-lamp": "1.0.0-rc.1"})) == ["designs/sea-lamp.yaml"]


@pytest.mark.parametrize(
    ("tag", "versions", "words"),
    [
        ("1.0.0", {"lamp": "1.0.0"}, "expected v and a version"),
        ("v1.0", {"lamp": "1.0.0"}, "expected v and a version"),
        ("v1.0.0\n", {"lamp": "1.0.0"}, "expected v and a version"),
        ("v1.0.1", {"lamp": "1.0.0"}, "no design has version 1.0.1"),
        ("v1.9.0", {"lamp": "1.9.0", "boat": "1.10.0"}, "boat.yaml: has version 1.10.0, which is higher"),
        ("v1.0.0-rc.1", {"lamp": "1.0.0"}, "which is higher"),
        ("lamp-v1.0.1", {"lamp": "1.0.0"}, "expected the same in both"),
        ("lamq-v1.0.0", {"lamp": "1.0.0"}, "no design 'lamq'; did you mean lamp"),
    ],
)
def test_a_tag_that_does_not_agree_is_refused(tag, versions, words):
    with pytest.raises(BuildError, match=words):
        tagged(tag, designs(**versions))


def test_a_history_that_does_not_tell_of_the_version_is_refused():
    found = designs(lamp="1.1.0")
    found["designs/lamp.yaml"].history = [{"version": "1.0.0", "text": "First."}]
    with pytest.raises(BuildError, match=r"has version 1\.1\.0 and its history begins with 1\.0\.0"):
        tagged("v1.1.0", found)
    found["designs/lamp.yaml"].history = []
    assert tagged("v1.1.0", found)
