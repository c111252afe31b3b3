"""Whatever a design file holds, it loads or is refused in one line; nothing else escapes."""

import json

import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from foamwright.design import check_all, starter
from foamwright.errors import DesignError

DESIGN = yaml.safe_load(starter("Lamp"))
ODD = [None, "", "x", "z", "1 mm", "nan", "scale", "scale - 1", "2 *", "1e999", 0, -1, 1.5, 10**400, True, [], {},
       [1], [[0, 0], [1, 1]], ["shade"], {"a": 1}, {"circle": {"radius": 1}}, {"kind": "disc"}, "\u2028", "\x07"]  # fmt: skip


def routes(data, route=()):
    yield route
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in steps:
        yield from routes(value, (*route, step))


ROUTES = [route for route in routes(DESIGN) if route]


def check(path, content):
    path.write_bytes(content)
    try:
        check_all(path)
    except DesignError as error:
        assert str(error).startswith(path.as_posix() + ":")
        assert len(str(error).splitlines()) == 1


COMMON = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def replaced(route, value):
    """The starting design with one value replaced, and the mapping or list that it stands in."""
    design = json.loads(json.dumps(DESIGN))
    holder = design
    for step in route[:-1]:
        holder = holder[step]
    holder[route[-1]] = value
    return design, holder


def test_anything_anywhere_in_a_design(tmp_path):
    changes = [(route, odd) for route in ROUTES for odd in ODD]
    for route, odd in changes[::11]:  # all of them take a while; 11 and the number of odd values share no factor
        check(tmp_path / "lamp.yaml", json.dumps(replaced(route, odd)[0]).encode())


def test_any_key_left_out_or_renamed(tmp_path):
    for route in ROUTES[::2]:
        design, holder = replaced(route, 1)
        if isinstance(holder, dict):
            value = holder.pop(route[-1])
            check(tmp_path / "lamp.yaml", json.dumps(design).encode())
            holder[f"{route[-1]}_"] = value
            check(tmp_path / "lamp.yaml", json.dumps(design).encode())


@COMMON
@given(
    st.integers(0, 3000),
    st.binary(max_size=3) | st.text(max_size=3).map(lambda t: t.encode("utf-8", "ignore")),
)
def test_any_bytes_anywhere_in_the_text(tmp_path, place, odd):
    text = starter("Lamp").encode()
    check(tmp_path / "lamp.yaml", text[:place] + odd + text[place + len(odd) :])


@COMMON
@given(st.text(max_size=40))
def test_any_text_as_a_quantity(tmp_path, text):
    design = json.loads(json.dumps(DESIGN))
    design["parts"]["band"]["width"] = text
    check(tmp_path / "lamp.yaml", json.dumps(design).encode())
