"""Files in and out, one module per open standard; every reader gives the few types of the package.

What a name stands for is imported when it is first asked for, so that ``import screenproof.formats`` is cheap.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screenproof.formats._letdown_rows import LibraryFile as LibraryFile
    from screenproof.formats._write import write_beside as write_beside
    from screenproof.formats.batches import Batch as Batch
    from screenproof.formats.batches import read_batch as read_batch
    from screenproof.formats.cameras import read_camera as read_camera
    from screenproof.formats.cgats import read_cgats as read_cgats
    from screenproof.formats.characterisation import read_characterisation as read_characterisation
    from screenproof.formats.csv_samples import read_csv_samples as read_csv_samples
    from screenproof.formats.cxf import read_cxf as read_cxf
    from screenproof.formats.detect import read_samples as read_samples
    from screenproof.formats.icc import profile_bytes as profile_bytes
    from screenproof.formats.icc import read_profile as read_profile
    from screenproof.formats.icc import write_profile as write_profile
    from screenproof.formats.inspect import Inspection as Inspection
    from screenproof.formats.inspect import inspect_file as inspect_file
    from screenproof.formats.json_samples import read_json_samples as read_json_samples
    from screenproof.formats.letdowns import read_library as read_library
    from screenproof.formats.lights import read_light as read_light
    from screenproof.formats.lights import read_light_noted as read_light_noted
    from screenproof.formats.lights import read_lights as read_lights
    from screenproof.formats.presses import is_press as is_press
    from screenproof.formats.presses import read_press as read_press
    from screenproof.formats.presses import write_press as write_press
    from screenproof.formats.readings import read_readings as read_readings
    from screenproof.formats.tints import TintList as TintList
    from screenproof.formats.tints import read_tints as read_tints
    from screenproof.formats.write import write_samples as write_samples

_HOME = {
    "Batch": "batches",
    "Inspection": "inspect",
    "LibraryFile": "_letdown_rows",
    "TintList": "tints",
    "inspect_file": "inspect",
    "is_press": "presses",
    "profile_bytes": "icc",
    "read_batch": "batches",
    "read_camera": "cameras",
    "read_cgats": "cgats",
    "read_characterisation": "characterisation",
    "read_csv_samples": "csv_samples",
    "read_cxf": "cxf",
    "read_json_samples": "json_samples",
    "read_library": "letdowns",
    "read_light": "lights",
    "read_light_noted": "lights",
    "read_lights": "lights",
    "read_press": "presses",
    "read_profile": "icc",
    "read_readings": "readings",
    "read_samples": "detect",
    "read_tints": "tints",
    "write_beside": "_write",
    "write_press": "presses",
    "write_profile": "icc",
    "write_samples": "write",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    home = _HOME.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f"{__name__}.{home}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOME])
