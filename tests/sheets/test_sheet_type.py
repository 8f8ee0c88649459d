"""How wide type is: the metrics of the file that ships, as the PDF sets it."""

from __future__ import annotations

import io
import re
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from pic2chart.sheets.marks.page import Label, Sheet, fit, text_width, wrap
from pic2chart.sheets.marks.printed import shown
from pic2chart.sheets.marks.type_files import BOLD, REGULAR, advances, letters, type_file
from pic2chart.sheets.writers.svg import sheet_svg

HAS = st.text(st.sampled_from(sorted(chr(n) for n in letters() if chr(n).isprintable())))


def set_width(text: str, size: float, bold: bool) -> float:
    """By ReportLab's own reading of the file, which the PDF writer sets type by."""
    name = BOLD if bold else REGULAR
    pdfmetrics.registerFont(TTFont(name, io.BytesIO(type_file(name))))
    return float(pdfmetrics.stringWidth(text, name, size))


@pytest.mark.parametrize("bold", [False, True])
def test_every_letter_is_as_wide_as_the_pdf_sets_it(bold: bool) -> None:
    name = BOLD if bold else REGULAR
    pdfmetrics.registerFont(TTFont(name, io.BytesIO(type_file(name))))
    known = [chr(n) for n in letters() if n >= 32]
    assert len(known) > 2000
    off = [c for c in known if abs(advances(name)[c] - pdfmetrics.stringWidth(c, name, 1)) > 1e-6]
    assert off == []


@settings(max_examples=60, deadline=None)
@given(HAS, st.booleans(), st.floats(1, 20))
def test_a_line_is_as_wide_as_the_pdf_sets_it(text: str, bold: bool, size: float) -> None:
    assert text_width(text, size, bold=bold) == pytest.approx(
        set_width(text, size, bold), abs=1e-6 * size * (1 + len(text))
    )


def test_bold_is_told_from_regular_and_pairs_are_not_kerned() -> None:
    assert text_width("Round 12", 3, bold=True) > text_width("Round 12", 3)
    apart = text_width("A", 3) + text_width("V", 3)
    assert text_width("AV", 3) == pytest.approx(apart)


@pytest.mark.parametrize("text", ["漢字", "😀", "Ａ㎏", "שלום", "\ufffd", "\u20e0x"])
@pytest.mark.parametrize("bold", [False, True])
def test_letters_the_type_lacks_have_room_for_what_stands_in_on_paper(
    text: str, bold: bool
) -> None:
    assert text_width(text, 3, bold=bold) >= set_width(shown(text), 3, bold) - 1e-6


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60), st.booleans())
def test_what_fits_and_what_is_wrapped_keeps_to_its_room(text: str, bold: bool) -> None:
    for line in [fit(text, 3, 20, bold=bold), *wrap(text, 3, 20, bold=bold)]:
        assert text_width(line, 3, bold=bold) <= 20 + 1e-9


@pytest.mark.parametrize("bold", [False, True])
def test_words_keep_their_width_whatever_type_a_viewer_has(bold: bool) -> None:
    def drawn(text: str) -> str:
        label = Label((10, 20), text, 4, bold=bold)
        return sheet_svg(Sheet(80, 40, "t", "d", (label,)))

    words = "Round 7 · 12 × cream"
    told = re.search(r'textLength="(\d+)" lengthAdjust="spacingAndGlyphs"', drawn(words))
    assert told is not None
    assert int(told[1]) == round(100 * set_width(words, 4, bold))
    for left in ("1234", "漢字かな交じり", ""):  # numbers, and what the viewer has to find type for
        assert "textLength" not in drawn(left)


def test_common_words_need_no_second_reader_of_type_files() -> None:
    """Only a letter the type may lack has ReportLab look; it takes longer to import than the rest."""
    code = (
        "import sys; from pic2chart.sheets.marks.page import text_width\n"
        "assert 'PIL' not in sys.modules\n"
        "for bold in (False, True): text_width('Grün · 12 × 40 … “Ωμέγα” Жук — é', 3, bold=bold)\n"
        "print('reportlab' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
