"""Text widths against the published metrics of the face: Adobe Core 14 AFM files, shipped with matplotlib."""

from pathlib import Path

import matplotlib
import pytest
from shouldread.drawing import UNIT, text_pixels
from shouldread.drawing.widths import SIZE, text_width

NAMES = {"plusminus": "±", "multiply": "×", "degree": "°", "endash": "–", "minus": "−", "mu": "µ", "ellipsis": "…"}
FACES = [("phvr8a.afm", False), ("phvb8a.afm", True)]


def metrics(file: str) -> dict[str, float]:
    """Character to advance width in thousandths, as the file lists it (``C 65 ; WX 667 ; N A ; ...``)."""
    found = {}
    for line in (Path(matplotlib.get_data_path()) / "fonts" / "afm" / file).read_text("latin-1").splitlines():
        if line.startswith("C "):
            fields = dict(field.split(None, 1) for field in line.split(" ;") if " " in field.strip())
            code, name = int(fields["C"]), fields["N"].strip()
            letter = chr(code) if 32 <= code < 127 else NAMES.get(name)
            if letter:
                found[letter] = float(fields["WX"])
    return found


@pytest.mark.parametrize(("file", "bold"), FACES)
def test_every_letter_is_as_wide_as_published(file: str, bold: bool) -> None:
    published = metrics(file)
    assert len(published) > 90
    for letter, width in published.items():
        if letter in "'`":
            continue  # typographic quotes in the file's own coding
        if letter == "µ":
            assert text_pixels(letter, bold) >= width * SIZE / 1000  # the metric twins draw it a little wider
            continue
        assert text_pixels(letter, bold) == pytest.approx(width * SIZE / 1000, abs=0.0055), letter


def test_a_line_is_the_sum_of_its_letters() -> None:
    assert text_pixels("47 kΩ") == pytest.approx(sum(text_pixels(letter) for letter in "47 kΩ"))
    assert text_width("47 kΩ") == pytest.approx(text_pixels("47 kΩ") / UNIT)


def test_letters_beyond_the_table_are_taken_for_wide_ones() -> None:
    assert text_pixels("Ж") >= text_pixels("0")
    assert text_pixels("電") == pytest.approx(SIZE)
    assert text_pixels("e\u0301") == pytest.approx(text_pixels("e"))
