"""A chart in few bytes, and the words of square codes, against what went in."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.core.errors import InputError
from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.chart_file import chart_to_text
from pic2chart.model.code_words import CodePart, base45, from_base45, joined
from pic2chart.model.gauge import Gauge
from pic2chart.model.packed import checksum, pack, packable, unpack
from pic2chart.model.range_coder import SymbolReader, SymbolWriter
from pic2chart.model.yarn import Yarn

YARNS = tuple(
    Yarn(name, colour, lot="7")
    for name, colour in (("oat", "#ece2d0"), ("ink", "#26304c"), ("røst", "#a8502f"))
)


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(1, 9), st.integers(0, 8)), max_size=400))
@settings(max_examples=80, deadline=None)
def test_symbols_come_back_from_their_contexts(told):
    written = SymbolWriter()
    for context, count, symbol in told:
        written.write(context, symbol % count, count)
    read = SymbolReader(written.bytes())
    assert [read.read(context, count) for context, count, _ in told] == [s % n for _, n, s in told]


def test_likely_symbols_cost_little():
    written = SymbolWriter()
    for _ in range(5000):
        written.write("", 0, 2)
    assert len(written.bytes()) < 40


@st.composite
def charts(draw):
    rounds, across = draw(st.integers(1, 14)), draw(st.integers(1, 14))
    cells = st.sampled_from([0, 0, 0, 1, 1, 2, NO_STITCH])
    squares = draw(st.lists(cells, min_size=rounds * across, max_size=rounds * across))
    squares[0] = 0
    place = st.builds(
        Catch, st.integers(0, rounds - 1), st.integers(0, across - 1), st.integers(0, 2)
    )
    return Chart(
        np.array(squares, np.uint8).reshape(rounds, across),
        YARNS,
        Gauge(27.5, 31),
        draw(st.sampled_from(["harbour dog", "Føroyar — 2"])),
        draw(st.sampled_from(["round", "flat"])),
        catches=tuple(draw(st.sets(place, max_size=20))),
        repeat=draw(st.sampled_from([None, (1, 1)])),
    )


@given(charts())
@settings(max_examples=80, deadline=None)
def test_a_packed_chart_comes_back_with_every_stitch_catch_and_yarn(chart):
    kept = packable(chart)
    assert chart_to_text(unpack(pack(kept))) == chart_to_text(kept)


@given(st.binary(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_other_bytes_are_refused_or_make_a_chart(data):
    for packed in (data, b"\1" + data):
        try:
            unpack(packed)
        except InputError:
            continue


@given(st.binary(max_size=200))
@settings(max_examples=80, deadline=None)
def test_base_45_comes_back(data):
    assert from_base45(base45(data)) == data


def test_base_45_is_that_of_rfc_9285():
    assert base45(b"AB") == "BB8"
    assert base45(b"Hello!!") == "%69 VD92EX0"
    assert base45(b"base-45") == "UJCLQE7W581"
    assert from_base45("QED8WEX0") == b"ietf!"
    assert from_base45("FGW") == b"\xff\xff"
    assert from_base45("GGW") is None
    assert from_base45(":::") is None
    assert from_base45("A") is None


def parts(packed: bytes, count: int) -> list[CodePart]:
    step = -(-len(packed) // count)
    return [
        CodePart(checksum(packed), n + 1, count, n + 2, (9, 7), packed[n * step : (n + 1) * step])
        for n in range(count)
    ]


def test_parts_are_joined_in_any_order_and_what_is_missing_is_named():
    chart = packable(Chart(np.indices((7, 9)).sum(axis=0) % 2, YARNS))
    told = parts(pack(chart), 3)
    assert [CodePart.read(part.words()) for part in told] == told
    whole, missing = joined(told[::-1])
    assert chart_to_text(whole) == chart_to_text(chart)
    assert missing == ()
    assert joined([told[2]]) == (None, (1, 2))


def test_a_part_of_another_chart_is_refused():
    one, other = (pack(packable(Chart(np.full((7, 9), n), YARNS, title=str(n)))) for n in (0, 1))
    mixed = [parts(one, 2)[0], parts(other, 2)[1]]
    with pytest.raises(InputError, match="do not make a whole chart"):
        joined(mixed)


@pytest.mark.parametrize(
    "text",
    ["", "https://example.org", "PIC2CHART:00000000:3/2:1:9X7:", "PIC2CHART:00000000:1/1:1:0X7:AA"],
)
def test_other_words_are_no_part(text):
    assert CodePart.read(text) is None
