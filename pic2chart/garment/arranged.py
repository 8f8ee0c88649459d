"""Bands of motifs one above another on a tube, each with a count of its own; motifs set apart; a text.

Every band is a strip that goes round whole: the count of its rounds is the multiple of its repeat that
is nearest to the garment's, and a few stitches are increased or decreased in a plain round before it
(common practice). Plain rounds of the ground's yarn part the bands, so that no strand runs from one to
the next, and each band is begun where it steps least, at the garment's back or side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.garment.around import all_round, least_jog, repeat_width
from pic2chart.garment.design import Design, is_chart, read_design, refuse_crowded
from pic2chart.garment.kind import TubeOptions
from pic2chart.garment.letters import lettered
from pic2chart.garment.piece import Making
from pic2chart.garment.shape import Shape, decreases, increases, spread
from pic2chart.model.chart import NO_STITCH
from pic2chart.model.construction import Shaping

Stitches = NDArray[np.uint8]

MOST_BANDS = 24
_PICTURE_ROUNDS = 16
"""Rounds that a picture among bands should have, where the tube may grow."""
_PARTING = 3
"""Stitches of a zigzag and the ground beside it."""
_ROUGH = 0.10
"""A band's count farther than this share from the garment's does not fit."""


@dataclass(frozen=True, slots=True)
class ArrangedTube:
    """Stitches uint8 [rounds, squares], 255 where none is, the shape that holds them, and the strips'
    names with the counts of their rounds.
    """

    stitches: Stitches
    shape: Shape
    bands: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class MotifBand:
    """One repeat of a band, uint8 [rounds, stitches], in the yarns of the design. `begun`: it begins where
    it should, and not where it steps least.
    """

    name: str
    unit: Stitches
    begun: bool = False

    @property
    def rounds(self) -> int:
        return int(self.unit.shape[0])

    def count(self, about: int) -> int:
        """Stitches round, as near to `about` as whole repeats come. Raises SettingError if not near."""
        across = int(self.unit.shape[1])
        count = max(1, round(about / across)) * across
        if abs(count - about) > max(4.0, _ROUGH * about):
            raise SettingError(
                message(
                    "band-does-not-close", name=self.name, across=across, about=about, count=count
                )
            )
        return count

    def on_its_head(self) -> MotifBand:
        """Upside down, as the border above mirrors the one below."""
        return replace(self, unit=self.unit[::-1].copy())

    def turned(self) -> MotifBand:
        """On its head and its left at its right, for what is worked downwards."""
        return replace(self, unit=self.unit[::-1, ::-1].copy())


def arrangement(
    making: Making, options: TubeOptions, about: int, rounds: int, most: int
) -> list[MotifBand]:
    """The strips from the bottom up: border, the picture, further bands, text, border on its head.

    The picture and the bands are begun again above, in the same order, as often as whole ones fit.
    `about`: stitches round; `rounds`: all there are; `most`: all there may be, where those do not
    suffice. Raises InputError, SettingError.
    """
    border = [] if options.border is None else _charts(making.design, [options.border])[:1]
    text = _text(making.design, options, about)
    bands = _charts(making.design, options.bands)
    fixed = sum(strip.rounds + options.between for strip in (*border, *border, *text))
    room = rounds - 2 * options.between - fixed - sum(s.rounds + options.between for s in bands)
    main = _main(making, options, about, room, most - rounds)
    each = [main, *bands]
    high = sum(strip.rounds + options.between for strip in each)
    times = max(1, (rounds - options.between - fixed) // high)
    return [*border, *each * times, *text, *(strip.on_its_head() for strip in border)]


def _main(making: Making, options: TubeOptions, about: int, room: int, more: int) -> MotifBand:
    """The picture or chart itself, set apart where that was asked; in `room` rounds, or up to `more`
    besides where it needs them.
    """
    design, usual = making.design, room
    room = max(usual, min(usual + more, _PICTURE_ROUNDS))
    widest = max(4, min(room, design.rounds_at(max(4, about // 2))))  # two stand side by side
    unit = repeat_width(design, options.across, widest, about)
    high = design.rounds_at(unit)
    if high > usual + more:
        raise SettingError(
            message("no-room-for-bands", high=high, room=max(usual, 0), lacks=high - usual)
        )
    one = all_round(making, unit, high, plain=True)
    return MotifBand(
        design.name, one if options.apart is None else _apart(design, one, options.apart)
    )


def _apart(design: Design, one: Stitches, apart: int) -> Stitches:
    """Two rows of a motif, the upper in the gaps of the lower, with plain ground between."""
    high, wide = one.shape
    unit = np.full((2 * high + 2, wide + apart), design.ground, np.uint8)
    unit[:high, apart // 2 : apart // 2 + wide] = one
    upper = np.roll(unit[:high], (wide + apart) // 2, axis=1)
    unit[high + 2 :] = upper
    return unit


def _text(design: Design, options: TubeOptions, about: int) -> list[MotifBand]:
    """A name or a date as a band, as often as it goes round; zigzags fill what is left beside each."""
    if options.text is None:
        return []
    bits = lettered(options.text, options.letters)
    across = bits.shape[1]
    times = max(1, about // across)
    times -= 1 - times % 2  # an odd number, so that one stands in the middle of the front
    parting = bits[:, -_PARTING:]
    more = (about - times * across) // times // _PARTING
    bits = np.hstack([*[parting] * ((more + 1) // 2), bits, *[parting] * (more // 2)])
    drawn = np.where(bits == 1, design.figure, design.ground)[::-1, ::-1]
    return [MotifBand(options.text, drawn.astype(np.uint8).copy(), begun=True)]


def _charts(design: Design, names: Sequence[str]) -> list[MotifBand]:
    """The strips of chart files, or of all charts in a folder by name, in the design's yarns."""
    paths = [path for name in names for path in _listed(Path(name))]
    if len(paths) > MOST_BANDS:
        raise SettingError(message("too-many-bands", bands=len(paths), most=MOST_BANDS))
    return [_chart(design, path) for path in paths]


def _listed(path: Path) -> list[Path]:
    if not path.is_dir():
        return [path]
    charts = sorted(entry for entry in path.iterdir() if entry.is_file() and is_chart(entry))
    if not charts:
        raise InputError(message("no-charts-in-folder", folder=path.name))
    return charts


def _chart(design: Design, path: Path) -> MotifBand:
    """A chart's own repeat; one of two yarns is knitted in the ground's and the figure's."""
    if not is_chart(path):
        raise InputError(message("band-is-no-chart", file=path.name))
    plain = Settings(gauge=design.settings.gauge)
    own = read_design(path, plain, (200, None)).chart
    assert own is not None
    refuse_crowded(own.stitches, path.name)
    chosen = design.yarns
    if len(own.yarns) == 2:
        chosen = tuple(design.yarns[k] for k in (design.ground, design.figure))
    names = tuple(f"{yarn.name}={yarn.colour}" for yarn in chosen)
    band = read_design(path, replace(plain, yarn=names), (200, None))
    chart, across = band.chart, band.tile_width
    assert chart is not None
    place = np.full(NO_STITCH + 1, design.ground, np.uint8)
    known = [yarn.name for yarn in design.yarns]
    place[: len(chart.yarns)] = [known.index(yarn.name) for yarn in chart.yarns]
    return MotifBand(band.name, place[chart.stitches[:, :across]])


def needed_rounds(strips: Sequence[MotifBand], between: int) -> int:
    """The fewest rounds of a tube with these strips and the plain rounds about them."""
    return sum(strip.rounds for strip in strips) + between * (len(strips) + 1)


def arranged(
    making: Making, strips: Sequence[MotifBand], about: int, rounds: int, between: int
) -> ArrangedTube:
    """All strips on one tube that begins and ends with `about` stitches.

    `between`: plain rounds at least before, between and after them; spare rounds go there too. Raises
    SettingError when there are too few rounds.
    """
    spare = rounds - sum(strip.rounds for strip in strips)
    lacks = needed_rounds(strips, between) - rounds
    if lacks > 0:
        raise SettingError(
            message("no-room-for-bands", high=rounds - spare, room=rounds, lacks=lacks)
        )
    gaps = spread(spare, len(strips) + 1)
    counts = [strip.count(about) for strip in strips]
    width, ground = max(about, *counts), making.design.ground
    drawn = np.full((rounds, width), NO_STITCH, np.uint8)
    live = np.zeros(drawn.shape, bool)
    shaping: list[Shaping] = []
    at, now = 0, about
    for gap, strip, count in [*zip(gaps, strips, counts, strict=False), (gaps[-1], None, about)]:
        change = at + gap // 2
        for r in range(at, at + gap):
            after = count if r >= change else now
            _plain(drawn, live, r, after, ground)
        shaping += _shaped(change, now, count, width)
        at, now = at + gap, count
        if strip is not None:
            _round_about(drawn, live, at, strip, count)
            at += strip.rounds
    return ArrangedTube(
        drawn,
        Shape(live, tuple(sorted(shaping))),
        tuple((strip.name, count) for strip, count in zip(strips, counts, strict=True)),
    )


def _left(width: int, count: int) -> int:
    return (width - count) // 2


def _plain(drawn: Stitches, live: NDArray[np.bool_], r: int, count: int, ground: int) -> None:
    left = _left(drawn.shape[1], count)
    drawn[r, left : left + count] = ground
    live[r, left : left + count] = True


def _round_about(
    drawn: Stitches, live: NDArray[np.bool_], low: int, strip: MotifBand, count: int
) -> None:
    """A strip's repeats side by side, begun where they step least."""
    across = strip.unit.shape[1]
    unit = strip.unit if strip.begun else least_jog(strip.unit, across)
    left = _left(drawn.shape[1], count)
    place = np.s_[low : low + strip.rounds, left : left + count]
    drawn[place] = np.tile(unit, (1, count // across))
    live[place] = True


def _shaped(r: int, before: int, after: int, width: int) -> list[Shaping]:
    """Decreases or increases spread evenly over one plain round."""
    left = _left(width, after)
    if after < before:
        return [Shaping(r, left + place, "k2tog") for place in decreases(before, after)]
    return [Shaping(r, left + place, "increase-left") for place in increases(before, after)]
