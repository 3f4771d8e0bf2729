"""Rows of one name are repeated readings: averaged, with a spread that says how well one reading repeats.

The truth is simulated: noise of known size and reach is put on known curves, and what is told must be that noise.
"""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples, write_samples
from screenproof.spectra import ColorimetryDoubt, ReflectanceDoubt

NM = np.arange(400, 701, 10)
HEAD = "# unit: fraction\n"


def curves(count: int) -> np.ndarray:
    centres = np.linspace(430, 670, count)[:, None]
    return 0.08 + 0.6 / (1.0 + np.exp(-(NM - centres) / 25.0))


def noise(rows: int, sd: float, reach: float, rng: np.random.Generator) -> np.ndarray:
    """Noise whose bands correlate as exp(-|dl| / reach)."""
    together = np.exp(-np.abs(np.subtract.outer(NM, NM)) / reach)
    return rng.multivariate_normal(np.zeros(NM.size), sd**2 * together, size=rows)


def table(names: list[str], values: np.ndarray, columns: dict[str, list[object]] | None = None) -> str:
    more = columns or {}
    lines = [",".join(["name", *more, *map(str, NM)])]
    for i, (name, row) in enumerate(zip(names, values, strict=True)):
        lines.append(",".join([name, *(str(cells[i]) for cells in more.values()), *(f"{v:.9f}" for v in row)]))
    return "\n".join(lines) + "\n"


def read(tmp_path, text: str, name: str = "samples.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_samples(path)


def test_known_noise_is_told_with_its_size_and_its_reach(tmp_path):
    rng = np.random.default_rng(20)
    truth, names = curves(12), [f"sample {i}" for i in range(12)]
    for reach in (15.0, 60.0):
        values = np.repeat(truth, 8, axis=0) + noise(96, 0.002, reach, rng)
        samples = read(tmp_path, HEAD + table(list(np.repeat(names, 8)), values))
        assert samples.names == tuple(names)
        assert np.allclose(samples.reflectance, values.reshape(12, 8, -1).mean(axis=1), atol=1e-8)
        doubt = samples.doubt
        assert isinstance(doubt, ReflectanceDoubt) and doubt.stated == "repeated readings" and doubt.readings == 8
        told = float(np.sqrt(np.mean(np.square(doubt.repeatability))))
        assert told == pytest.approx(0.002, rel=0.08), "84 readings beyond the first, 31 bands"
        assert doubt.correlation_nm == pytest.approx(reach, rel=0.35)
        assert np.shape(doubt.repeatability) == (12, NM.size), "so many readings tell each band"
        # The mean of the eight is nearer the truth by the root of eight.
        left = samples.reflectance - truth
        assert float(np.sqrt((left**2).mean())) == pytest.approx(0.002 / np.sqrt(8), rel=0.25)


def test_few_readings_are_pooled_and_widened_and_ten_stand_alone(tmp_path):
    rng = np.random.default_rng(4)
    truth = curves(3)
    often = [0] * 12 + [1] * 2 + [2]
    sds = np.array([0.004] * 12 + [0.001] * 2 + [0.001])
    values = truth[often] + noise(15, 1.0, 20.0, rng) * sds[:, None]
    samples = read(tmp_path, HEAD + table([f"s{i}" for i in often], values))
    assert samples.doubt.readings.tolist() == [12, 2, 1]
    own, pooled, alone = np.asarray(samples.doubt.repeatability)
    apart = values[:12] - values[:12].mean(axis=0)
    assert own == pytest.approx(np.sqrt((apart**2).sum(axis=0).mean() / 11 * 11 / 9))
    pair = values[12:14] - values[12:14].mean(axis=0)
    both = ((apart**2).sum(axis=0) + (pair**2).sum(axis=0)).mean() / 12
    assert pooled == alone == pytest.approx(np.sqrt(both * 12 / 10))
    assert any("2 samples were read more than once (14 readings)" in note.what for note in samples.notes)


def test_a_pair_alone_says_that_it_is_few_and_a_statement_goes_before_it(tmp_path):
    values = np.repeat(curves(1), 2, axis=0) + np.array([[0.001], [-0.001]])
    few = read(tmp_path, HEAD + table(["red", "red"], values))
    # s = 0.001 sqrt(2), one reading beyond the first: widened by the root of 3.
    assert few.doubt.repeatability == pytest.approx(0.001 * np.sqrt(2 * 3), rel=1e-4)
    assert any("told from few readings" in note.what and "5 readings" in note.mend for note in few.notes)
    stated = read(tmp_path, HEAD + "# repeatability: 0.0007\n" + table(["red", "red"], values))
    assert (stated.doubt.repeatability, stated.doubt.stated, stated.doubt.readings) == (0.0007, "file", 2)


def test_what_a_file_states_in_its_own_unit(tmp_path):
    head = (
        "# unit: percent\n# repeatability: 0.2\n# readings: 3\n# correlation: 40 nm\n# agreement_scale: 0.5 %\n"
        "# agreement_zero: 0.05\n# agreement_wavelength: 0.3\n# instrument_id: bench 2\n"
    )
    doubt = read(tmp_path, head + table(["red"], 100 * curves(1))).doubt
    assert (doubt.repeatability, doubt.readings, doubt.correlation_nm) == (pytest.approx(0.002), 3, 40.0)
    assert (doubt.scale, doubt.zero, doubt.wavelength_nm) == (0.005, pytest.approx(0.0005), 0.3)
    assert (doubt.instrument, doubt.stated) == ("bench 2", "file")
    head = HEAD + "# instrument_class: production\n# agreement_scale: 0.02\n"
    of_class = read(tmp_path, head + table(["a"], curves(1)))
    assert (of_class.doubt.repeatability, of_class.doubt.scale, of_class.doubt.stated) == (0.001, 0.02, "class")
    assert read(tmp_path, HEAD + table(["red"], curves(1))).doubt is None


def test_columns_say_it_row_by_row_and_weigh_the_mean(tmp_path):
    values = np.repeat(curves(1), 3, axis=0) + np.array([[0.0], [0.004], [0.2]])
    columns = {"readings": [3, "", 5], "repeatability": [0.001, 0.001, 0.003]}
    samples = read(tmp_path, HEAD + table(["red", "red", "blue"], values, columns))
    assert samples.reflectance[0] == pytest.approx(curves(1)[0] + 0.001), "three readings against one"
    assert samples.doubt.readings.tolist() == [4, 5]
    assert samples.doubt.repeatability == pytest.approx([0.001, 0.003]) and samples.doubt.stated == "file"


def test_samples_in_columns_and_lab_repeat_too(tmp_path):
    values = curves(2)[[0, 1, 0]] + np.array([[0.001], [0.0], [-0.001]])
    rows = [f"{nm}," + ",".join(f"{v:.9f}" for v in column) for nm, column in zip(NM, values.T, strict=True)]
    samples = read(tmp_path, HEAD + "nm,red,blue,red\n" + "\n".join(rows) + "\n")
    assert samples.names == ("red", "blue") and samples.doubt.readings.tolist() == [2, 1]
    lab = "name,LAB_L,LAB_A,LAB_B\n" + "".join(f"ink,{50 + d},{20 - d},{10 + d}\n" for d in (-0.3, 0.0, 0.3) * 2)
    told = read(tmp_path, "# light: D50\n# observer: 2\n# agreement: 0.4\n" + lab).doubt
    assert isinstance(told, ColorimetryDoubt) and (told.readings, told.agreement_de) == (6, 0.4)
    # s^2 = 4 x 0.09 / 5 in each of the three, widened by 5 / 3.
    assert told.repeatability_de == pytest.approx(np.sqrt(0.072 * 5 / 3), rel=1e-3)


def test_identifiers_tell_rows_apart_unless_they_are_said_to_be_repeats(tmp_path):
    values = np.repeat(curves(1), 2, axis=0) + np.array([[0.001], [-0.001]])
    body = table(["red", "red"], values, {"SAMPLE_ID": [1, 2]})
    apart = read(tmp_path, HEAD + body)
    assert apart.names == ("red (1)", "red (2)")
    assert any(note.mend and "# repeats: yes" in note.mend for note in apart.notes)
    assert read(tmp_path, HEAD + "# repeats: yes\n" + body).names == ("red",)
    cgats = "ISO28178\nKEYWORD \"REPEATS\"\nREPEATS \"yes\"\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\n"
    cgats += "SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n"
    cgats += "1 red 50 60 30\n2 red 50.4 60 30\nEND_DATA\n"
    assert read(tmp_path, cgats, "a.cgats").names == ("red",)


def test_several_spectra_of_one_cxf_object_are_repeats(tmp_path):
    path = tmp_path / "one.cxf"
    write_samples(read(tmp_path, HEAD + table(["red", "blue"], curves(2))), path)
    text = path.read_text(encoding="utf-8")
    start = text.rindex("<", 0, text.index("ReflectanceSpectrum"))
    end = text.index("ReflectanceSpectrum>") + len("ReflectanceSpectrum>")
    spectrum = text[start:end]
    numbers = spectrum[spectrum.index(">") + 1 : spectrum.rindex("<")].split()
    again = spectrum.replace(" ".join(numbers), " ".join(f"{float(n) + 0.002:.6f}" for n in numbers))
    assert again != spectrum
    path.write_text(text[:end] + again + text[end:], encoding="utf-8")
    samples = read_samples(path)
    assert samples.names == ("red", "blue") and samples.doubt.readings.tolist() == [2, 1]
    assert samples.reflectance[0] == pytest.approx(curves(2)[0] + 0.001, abs=1e-6)


@pytest.mark.parametrize("ending", ["csv", "cgats", "cxf", "json"])
def test_what_is_known_is_written_and_read_back(tmp_path, ending):
    rng = np.random.default_rng(2)
    values = np.repeat(curves(2), 12, axis=0)[:16] + noise(16, 0.002, 20.0, rng)
    head = HEAD + "# agreement_scale: 0.004\n# agreement_wavelength: 0.2\n# instrument_id: bench 2\n"
    first = read(tmp_path, head + table(["a"] * 12 + ["b"] * 4, values))
    back = read_samples(write_samples(first, tmp_path / f"again.{ending}")).doubt
    doubt = first.doubt
    for key in ("correlation_nm", "scale", "wavelength_nm", "instrument"):
        assert getattr(back, key) == getattr(doubt, key)
    if ending == "cxf":
        assert back.readings == 4 and back.repeatability == pytest.approx(np.sqrt(np.mean(doubt.repeatability**2)))
    else:
        assert np.array_equal(back.readings, doubt.readings)
        assert back.repeatability == pytest.approx(np.asarray(doubt.repeatability))
    if ending == "json":
        assert back.stated == "repeated readings"


RED = ",".join(f"{v:.6f}" for v in curves(1)[0])
FAR = ",".join(f"{v:.6f}" for v in curves(1)[0] * 0.6)
NEAR = ",".join(f"{v:.6f}" for v in curves(1)[0] + 0.001)
FIELDS = ",".join(map(str, NM))
LAB = "name,LAB_L,LAB_A,LAB_B\nred,50,60,30\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"name,{FIELDS}\nred,{RED}\nred,{FAR}\n",
         ("line 4", "'red' stands 2 times with different values (lines 3, 4): up to ", "CIEDE2000 under D50")),
        (f"name,{FIELDS}\nred,{RED}\nred,{FAR}\nred,{NEAR}\n",
         ("line 4", "or leave out line 4, which is farthest")),
        ("name,LAB_L,LAB_A,LAB_B\nred,50,60,30\nred,60,60,30\n",
         # 10 in lightness about L* 55: 10 / S_L = 10 / 1.0559 (ISO/CIE 11664-6).
         ("lines 4, 5): up to 9.47 CIEDE2000", "at most 5 CIEDE2000 under D50 apart")),
        (f"name,C,M,Y,K,{FIELDS}\nred,0,100,100,0,{RED}\nred,0,90,100,0,{NEAR}\n",
         ("stands 2 times with different device values (lines 3, 4)",)),
        (f"# repeats: no\nname,{FIELDS}\nred,{RED}\nred,{NEAR}\n", ("stands 2 times", "every name once")),
        (f"# repeats: often\nname,{FIELDS}\nred,{RED}\n", ("line 2", "repeats is 'often'", "'yes' or 'no'")),
        (f"# readings: 2.5\nname,{FIELDS}\nred,{RED}\n", ("line 2, readings: readings is '2.5'", "whole number")),
        (f"name,readings,{FIELDS}\nred,0,{RED}\n", ("line 3, readings: 0 readings of 'red'", "1 or more")),
        (f"name,readings,{FIELDS}\nred,many,{RED}\n", ("line 3, readings: 'many' is no number",)),
        (f"name,repeatability,{FIELDS}\nred,-0.1,{RED}\n", ("line 3, repeatability: a repeatability of -0.1",)),
        (f"name,repeatability,{FIELDS}\nred,,{RED}\n", ("line 3, repeatability: an empty cell",)),
        (f"# correlation: far\nname,{FIELDS}\nred,{RED}\n", ("line 2, correlation: correlation is 'far'",)),
        (f"# agreement_scale: -1 %\nname,{FIELDS}\nred,{RED}\n", ("agreement_scale is '-1 %'", "0.005 or 0.5 %")),
        (f"# instrument_class: labratory\nname,{FIELDS}\nred,{RED}\n",
         ("line 2, instrument_class: no class of instruments", "did you mean 'laboratory'?")),
        (f"# agreement: 0.3\nname,{FIELDS}\nred,{RED}\n", ("line 2, agreement: agreement is about L*, a*, b*",)),
        ("# agreement_wavelength: 0.3\n" + LAB, ("agreement_wavelength is about curves, and the file has none",)),
    ],
)  # fmt: skip
def test_mistakes(tmp_path, text, said):
    if "LAB_L" in text:
        text = "# observer: 2\n# light: D50\n" + text
    elif "unit" not in text:
        text = HEAD + text
    with pytest.raises(InputError) as raised:
        read(tmp_path, text)
    for words in said:
        assert words in str(raised.value), str(raised.value)


@pytest.mark.parametrize(
    ("doubt", "said"),
    [
        ({"repeatabilty": 0.1}, "did you mean 'repeatability'?"),
        ({"repeatability": [0.1, 0.1, 0.1]}, "repeatability of shape (3,) for 1 samples"),
        ({"readings": 0}, "doubt.readings: 0 readings"),
        ({"scale": "large"}, "doubt.scale: scale is no number"),
        ({"agreement": 0.2}, "doubt.agreement: the key 'agreement' is not known"),
        (0.1, "doubt: the doubt is no object"),
    ],
)
def test_mistakes_in_json(tmp_path, doubt, said):
    import json

    content = {
        "schema": "screenproof-samples/1",
        "names": ["red"],
        "wavelengths": {"start": 400, "stop": 700, "step": 10},
        "reflectance": curves(1).tolist(),
        "doubt": doubt,
    }
    with pytest.raises(InputError) as raised:
        read(tmp_path, json.dumps(content), "a.json")
    assert said in str(raised.value), str(raised.value)
