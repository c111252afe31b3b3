"""Foamwright: from a prop described in one YAML file to a printable foam template pack.

    import foamwright

    design = foamwright.load("designs/lamp.yaml", "table", {"shell_thickness": "8 mm"})
    foamwright.build(design, paper="letter").write("build/my-lamp")

`Stages` gives what lies between, each made when it is asked for: `Stages(Request(design)).model`, `.patterns`.

Everything that is listed in `__all__` is the public interface; each name is loaded when it is first used.
"""

from __future__ import annotations

import os
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from foamwright.design import load as load
    from foamwright.design.records import Design as Design
    from foamwright.errors import BuildError as BuildError
    from foamwright.errors import DesignError as DesignError
    from foamwright.flatten.records import Patterns as Patterns
    from foamwright.making import Request as Request
    from foamwright.making import Stages as Stages
    from foamwright.making import build as build
    from foamwright.model.records import Model as Model
    from foamwright.pack.pack import Pack as Pack
    from foamwright.registry import Kind as Kind
    from foamwright.registry import register as register

__version__ = "0.1.0"

# Said before numpy is loaded. Matrices are small here: threads wait for each other twice as long as they reckon, and the last
# digits of what they make would follow from how many processors a machine has.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A relative path there is to be ignored (XDG Base Directory Specification 0.8). Libraries take it from where the command is
# called, which may be a stranger's repository, and what is kept in such folders is run.
for _name in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
    if not os.path.isabs(os.environ.get(_name, os.sep)):
        del os.environ[_name]

_HOME = {
    "BuildError": "foamwright.errors:BuildError",
    "Design": "foamwright.design.records:Design",
    "DesignError": "foamwright.errors:DesignError",
    "Kind": "foamwright.registry:Kind",
    "Model": "foamwright.model.records:Model",
    "Pack": "foamwright.pack.pack:Pack",
    "Patterns": "foamwright.flatten.records:Patterns",
    "Request": "foamwright.making:Request",
    "Stages": "foamwright.making:Stages",
    "build": "foamwright.making:build",
    "load": "foamwright.design:load",
    "register": "foamwright.registry:register",
}
__all__ = [
    "BuildError",
    "Design",
    "DesignError",
    "Kind",
    "Model",
    "Pack",
    "Patterns",
    "Request",
    "Stages",
    "build",
    "load",
    "register",
]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'foamwright' has no attribute {name!r}")
    module, _, attribute = _HOME[name].partition(":")
    return getattr(import_module(module), attribute)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
