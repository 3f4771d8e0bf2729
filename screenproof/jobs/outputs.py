"""The output folder of a run: the result as JSON, the proof page, the drive values, the patch images."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from screenproof.questions.folder import refuse_foreign, whole_folder

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.jobs.job import Job
    from screenproof.proof.result import OnDisplay, Result, SampleRecord

PATCH_PIXELS = 512
"""Side of a patch image: two degrees and more at arm's length on any screen, and small on disk (one colour)."""

CSV_HEADER = (
    "group", "sample", "display", "drive_r", "drive_g", "drive_b", "code_r", "code_g", "code_b", "bits",
    "in_gamut", "excess_de00", "residual_de00", "lab_l", "lab_a", "lab_b", "status", "patch",
)  # fmt: skip


def check_outputs(job: Job) -> None:
    """InputError, before anything is calculated, when the job's output folder may not be written."""
    refuse_foreign(job.output_folder)


def write_outputs(
    result: Result,
    folder: Path,
    displays: Mapping[str, Display] | None = None,
    *,
    patches: str = "tiff",
    page: bool = True,
) -> Path:
    """Write ``result`` to ``folder`` and return it: result.json, index.html, drive_values.csv, patches/.

    ``displays`` are the displays of the result by name; without them, or with ``patches='none'``, there are no
    patch images. The folder appears whole or not at all, and an earlier one of ours is replaced by it.
    Raises InputError when it holds anything that a run did not write, or cannot be written.
    """
    wanted = patches if displays else "none"
    with whole_folder(folder) as beside:
        (beside / "result.json").write_text(result.to_json() + "\n", encoding="utf-8")
        (beside / "drive_values.csv").write_text(drive_values(result, wanted), encoding="utf-8", newline="")
        if displays and wanted != "none":
            write_patches(result, displays, beside, wanted)
        if page:
            from screenproof.report import render_page

            (beside / "index.html").write_text(
                render_page(result, patches=None if wanted == "none" else "patches/"), encoding="utf-8"
            )
    return folder


def slug(text: str) -> str:
    """A name as part of a file name: lower-case ASCII letters, digits and hyphens, never empty."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "x"


def patch_path(result: Result, sample: int, on: OnDisplay, patches: str) -> str:
    """Where the patch of the ``sample``-th sample stands in the output folder; empty without patches."""
    if patches == "none":
        return ""
    index = next(i for i, display in enumerate(result.displays) if display.name == on.display)
    folder = slug(on.display)
    if folder in [slug(display.name) for display in result.displays[:index]]:
        folder = f"{folder}-{index + 1}"
    suffix = "tif" if patches == "tiff" else "png"
    return f"patches/{folder}/{sample + 1:03d}-{slug(result.samples[sample].name)}.{suffix}"


def drive_values(result: Result, patches: str = "none") -> str:
    """The drive values as CSV: one row per sample and display, drive 0..1, codes at the display's bit depth."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(CSV_HEADER)
    for index, sample in enumerate(result.samples):
        for on in sample.on:
            rows.writerow(_row(sample, on, patch_path(result, index, on, patches)))
    return text.getvalue()


def _row(sample: SampleRecord, on: OnDisplay, patch: str) -> list[str]:
    return [
        _cell(sample.group),
        _cell(sample.name),
        _cell(on.display),
        *(f"{value:.6f}" for value in on.drive),
        *(str(value) for value in on.code),
        str(on.bits),
        "yes" if on.in_gamut else "no",
        f"{on.excess:.4f}",
        f"{on.residual:.4f}",
        *(f"{value:.4f}" for value in sample.lab),
        on.status,
        patch,
    ]


def _cell(text: str) -> str:
    """A name that a spreadsheet will not take for a formula."""
    return f"'{text}" if text[:1] in "=+@\t\r" or (text[:1] == "-" and not text[1:2].isdigit()) else text


def write_patches(result: Result, displays: Mapping[str, Display], folder: Path, patches: str) -> None:
    """One 16-bit image of one colour per sample and display, with the display's ICC profile in it.

    The pixels are the code that was judged, c / (2^bits - 1), on the 16-bit scale: a viewer that shows the
    file on that display sends out exactly that code.
    """
    import numpy as np

    from screenproof.formats import profile_bytes
    from screenproof.jobs.images import png_image, tiff_image

    profiles = {record.name: profile_bytes(displays[record.name]) for record in result.displays}
    for index, sample in enumerate(result.samples):
        for on in sample.on:
            top = 2**on.bits - 1
            pixel = np.round(np.asarray(on.code) / top * 65535).astype(np.uint16)
            pixels = np.broadcast_to(pixel, (PATCH_PIXELS, PATCH_PIXELS, 3))
            target = folder / patch_path(result, index, on, patches)
            target.parent.mkdir(parents=True, exist_ok=True)
            name = f"{sample.name} on {on.display}"
            write = tiff_image if patches == "tiff" else png_image
            target.write_bytes(write(pixels, profiles[on.display], name))
