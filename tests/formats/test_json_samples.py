"""Samples in the package's own JSON: what is wrong is told with its place in the document."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples

GOOD = {
    "schema": "screenproof-samples/1",
    "names": ["red", "blue"],
    "wavelengths": {"start": 400, "stop": 420, "step": 10},
    "reflectance": [[0.1, 0.2, 0.3], [0.4, 0.35, 0.05]],
    "condition": {"filter": "M1", "geometry": "45a:0"},
    "colorimetry": {"xyz": [[30, 20, 10], [10, 20, 30]], "light": "D65", "observer": "cie1964"},
    "device": {"channels": ["C", "M"], "values": [[0, 1], [0.5, 0.25]]},
    "repeatability": 0.002,
    "fluorescent": False,
}


def read(folder, content):
    path = folder / "samples.json"
    path.write_text(content if isinstance(content, str) else json.dumps(content))
    return read_samples(path)


def test_every_part(tmp_path):
    samples = read(tmp_path, GOOD)
    assert samples.names == ("red", "blue")
    np.testing.assert_array_equal(samples.reflectance, GOOD["reflectance"])
    np.testing.assert_array_equal(samples.colorimetry.xyz, GOOD["colorimetry"]["xyz"])
    np.testing.assert_array_equal(samples.device.values, GOOD["device"]["values"])
    assert (samples.condition.filter, samples.condition.geometry) == ("M1", "45a:0")
    assert samples.repeatability == 0.002


def test_the_observer_of_an_earlier_version_is_read(tmp_path):
    former = GOOD | {"colorimetry": GOOD["colorimetry"] | {"observer": "1964-10"}}
    assert read(tmp_path, former).colorimetry.observer == read(tmp_path, GOOD).colorimetry.observer == "cie1964"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"names": ["red", "red"]}, "names: the name 'red' stands 2 times"),
        ({"names": ["red"]}, "reflectance: 2 rows for 1 names"),
        ({"names": ["red", ""]}, "names: a name is missing"),
        ({"names": "red"}, "no list of names"),
        ({"wavelengths": None}, "wavelengths: the wavelengths are not stated"),
        ({"wavelengths": {"start": 400, "stop": 425, "step": 10}}, "cannot be walked"),
        ({"reflectance": [[0.1, 0.2, 0.3], [0.4, 0.35]]}, r"reflectance\[1\]: 2 numbers"),
        (
            {"reflectance": [[0.1, "x", 0.3], [0.4, 0.35, None]]},
            r"(?s)reflectance\[0\]\[1\].*reflectance\[1\]\[2\]",
        ),
        ({"reflectance": [[0.1, True, 0.3], [0.4, 0.35, 0.1]]}, r"reflectance\[0\]\[1\]: True is no number"),
        ({"reflectance": [[10, 20, 30], [0.4, 0.35, 0.1]]}, "red: the unit is stated as fraction"),
        ({"reflectence": []}, "did you mean 'reflectance'"),
        ({"colorimetry": {"xyz": [[1, 2, 3], [1, 2, 3]]}}, "light and observer of the XYZ are not stated"),
        ({"condition": {"filter": "M9"}}, r"condition.filter: measurement condition 'M9'"),
        ({"condition": {"humidity": "40 %"}}, "condition: 'humidity'"),
        ({"device": {"values": [[0], [1]]}}, "device: the channels are not named"),
        ({"device": {"channels": ["C"], "values": [[0], [7]]}}, "blue: a device value of 7"),
        ({"repeatability": -1}, "repeatability is -1"),
        ({"fluorescent": "perhaps"}, "fluorescent is 'perhaps'"),
        ({"schema": "screenproof-result/1"}, r"JSON of another kind \(schema 'screenproof-result/1'\)"),
    ],
)
def test_mistakes(tmp_path, change, words):
    with pytest.raises(InputError, match=words):
        read(tmp_path, {**GOOD, **change})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (json.dumps(GOOD, indent=1)[:150], "line 1[0-9]: the JSON is damaged"),
        (json.dumps(GOOD).replace("0.35", "NaN"), "NaN is no reading"),
        ("[" * 100000, "damaged|nested too deeply"),
        ('{"names": ["a"]}', "no schema"),
        ("[1, 2]", "no schema"),
    ],
)
def test_damaged_documents(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        read(tmp_path, text)


def test_neither_curves_nor_colorimetry(tmp_path):
    with pytest.raises(InputError, match="neither reflectance nor colorimetry"):
        read(tmp_path, {"schema": "screenproof-samples/1", "names": ["a"]})
