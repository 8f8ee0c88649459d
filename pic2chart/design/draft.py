"""From a grid and the yarns there are to a canvas: tone, background, look, subject and focus."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import ReferenceImage, near, rim
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.design.canvas import FREE, Canvas
from pic2chart.design.contour import HALO, Contour, contour, ground_for
from pic2chart.design.filler import MAX_FLOAT, fill
from pic2chart.design.grey import grey_of
from pic2chart.design.looks import Look, broad_tones, drawn, evened, hatched
from pic2chart.model.yarn import Yarn
from pic2chart.picture.grid import Grid

# Tone: a picture's lightness mapped so that it suits the yarns there are.

STRAIGHT = 0.3
"""Share of the straight scale in `fit_range`."""
_BEYOND = 256.0
"""How far, in L*, tones go on straight past the main ones."""
_BINS = 256

Floats = NDArray[np.float64]


def fit_tone(lightness: Floats, weight: Floats, yarn_lightness: Floats) -> Floats:
    """Bend lightness (any shape) so that the picture's main tones land on the yarns' lightness.

    The weighted one-dimensional k-means centres of the picture's L*, one for each clearly different
    yarn lightness, are mapped to those in order, straight lines between and beyond. The
    borders between two tones then fall midway between two yarns, whatever the yarns.
    """
    steps = tone_levels(yarn_lightness)
    if steps.size == 1:
        return np.full_like(lightness, steps[0])
    centres = _centres(lightness.ravel(), weight.ravel(), steps.size)
    known = [centres[0] - _BEYOND, *centres, centres[-1] + _BEYOND]
    levels = [steps[0] - _BEYOND, *steps, steps[-1] + _BEYOND]
    return np.asarray(np.clip(np.interp(lightness, known, levels), 0, 100))


def fit_range(lightness: Floats, weight: Floats, yarn_lightness: Floats) -> Floats:
    """Bend lightness (any shape) so that it spans the yarns', for three or more yarns.

    The picture's dark and light main tone go to the darkest and lightest yarn; a share of the straight
    scale from its darkest to its lightest parts is mixed in, so that tones between stay between. The
    yarns between are not given tones of the picture by force: they serve where one comes near them.
    """
    ends = np.array([yarn_lightness.min(), yarn_lightness.max()])
    low, high = np.percentile(lightness, (3, 97))
    straight = ends[0] + (lightness - low) * (ends[1] - ends[0]) / max(high - low, 1e-6)
    mixed = STRAIGHT * straight + (1 - STRAIGHT) * fit_tone(lightness, weight, ends)
    return np.asarray(np.clip(mixed, 0, 100))


def form_of(lightness: Floats, weight: Floats) -> Floats:
    """L* (any shape) as -1 at the picture's dark main tone, 1 at its light one, straight between."""
    dark, light = _centres(lightness.ravel(), weight.ravel(), 2)
    return np.asarray(np.clip((2 * lightness - dark - light) / (light - dark), -1.5, 1.5))


def tone_levels(yarn_lightness: Floats, gap: float = 6.0) -> Floats:
    """The yarns' L*, sorted, those closer than `gap` merged into their mean, but two if any differ."""
    levels = np.sort(yarn_lightness)
    groups: list[list[float]] = []
    for level in levels.tolist():
        if groups and level - groups[-1][-1] < gap:
            groups[-1].append(level)
        else:
            groups.append([level])
    if len(groups) == 1 and levels[0] < levels[-1]:
        return levels[[0, -1]]
    return np.array([np.mean(group) for group in groups])


def _centres(values: Floats, weight: Floats, k: int) -> Floats:
    """Weighted one-dimensional k-means, on a histogram, from evenly spaced quantiles."""
    bins = np.clip(values * (_BINS / 100), 0, _BINS - 1).astype(np.intp)
    heights = np.bincount(bins, weight, _BINS)
    middle = (np.arange(_BINS) + 0.5) * (100 / _BINS)
    share = np.cumsum(heights) / max(heights.sum(), 1e-12)
    centres = np.interp((np.arange(k) + 0.5) / k, share, middle)
    for _ in range(60):
        nearest = np.abs(middle[:, None] - centres).argmin(axis=1)
        mass = np.bincount(nearest, heights, k)
        moved = np.where(
            mass > 0, np.bincount(nearest, heights * middle, k) / np.maximum(mass, 1e-12), centres
        )
        if (np.abs(moved - centres) <= 1e-6 + 1e-5 * np.abs(centres)).all():
            break
        centres = moved
    return np.maximum.accumulate(np.sort(centres) + np.arange(k) * 1e-3)


# What is knitted behind the subject: one yarn, or a filler in two.


def background(
    inside: NDArray[np.bool_], yarn_lightness: Floats, ground: int, filler: str | None
) -> NDArray[np.uint8]:
    """Yarn wanted at each background stitch, FREE on the subject `inside`; uint8 [R, N].

    The yarn `ground` (index), or a filler whose motif takes the yarn farthest from it in lightness;
    round the subject the ground stays plain, so that nothing touches its ears and tails.
    """
    wanted = np.full(inside.shape, FREE, np.uint8)
    wanted[~inside] = ground
    if filler is not None:
        motif = int(np.abs(yarn_lightness - yarn_lightness[ground]).argmax())
        far = ~near(inside, HALO)
        tile = _stippled(fill(filler, *inside.shape), far)
        wanted[far & (tile == 1)] = motif
    return wanted


def _stippled(tile: NDArray[np.uint8], behind: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """The filler 0/1 [R, N] with single stitches of its motif in its plain rounds beside the subject.

    A plain round has no float by itself, but beside a subject in two yarns it would have one all round
    the back. The stitches lie in staggered rows, close enough for any fit of a float limit of 4.
    """
    rounds, stitches = np.indices(tile.shape)
    plain = (tile == tile[:, :1]).all(axis=1) & behind.any(axis=1) & ~behind.all(axis=1)
    spots = (stitches + 2 * rounds) % (MAX_FLOAT + 1) == 0
    return np.where(plain[:, None] & spots, 1 - tile, tile).astype(np.uint8)


def named(yarns: tuple[Yarn, ...], name: str) -> int:
    """The yarn (index) that the option `background` names. Raises SettingError when there is none."""
    for index, yarn in enumerate(yarns):
        if yarn.name.casefold() == name.strip().casefold():
            return index
    raise SettingError(
        message(
            "no-such-background",
            name=name,
            known=tuple(yarn.name for yarn in yarns),
            options=("background",),
        )
    )


CONTOUR_FORM = 1.5
"""Price of a contour that is not seen, against a wholly wrong light or dark stitch, where form counts."""
READABLE = 20
"""Stitches a subject should have across: a face is recognised less and less below about 18 cells
(Bachmann 1991, European Journal of Cognitive Psychology 3(1))."""
WELL = 30
"""Stitches across that are suggested."""
CLOSER = 1.15
"""How many times as wide another frame must make a subject to be named."""


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """The canvas, and the picture as it is seen from across the room in these yarns' tones."""

    canvas: Canvas
    reference: ReferenceImage


@dataclass(frozen=True, slots=True, eq=False)
class _Toned:
    """A grid in a look, whatever lies behind it; float64 [R, N].

    `fitted`: L* in the yarns' tones; `shaded`: the same with the look's slanting lines; `form`: as the
    canvas has it, None where only the yarns' own colours count.
    """

    fitted: Floats
    shaded: Floats
    form: Floats | None


class Plain:
    """A grid before it is drawn in a look: what all looks and grounds in the same yarns and filler share
    is worked out for the first that asks.

    `light` [K]: L* of the yarns; `aspect`: height of a stitch over its width; `several`: whether there are
    more yarns than the two of a round, so that form counts. `lightness` float64 [R, N] is what the
    grid is drawn by: of two yarns their grey, of more the L*.
    """

    def __init__(self, grid: Grid, light: Floats, aspect: float, per_round: int) -> None:
        target = grid.target.astype(np.float64)
        self.lightness = grey_of(target, grid.within) if light.size == 2 else target[..., 0].copy()
        self._several = light.size > per_round == 2
        self._grid, self._light, self._aspect = grid, light, aspect
        self._share = grid.subject.astype(np.float64)
        self.inside = grid.inside
        self._broad: dict[float, Floats] = {}
        self._toned: dict[Look, _Toned] = {}
        self._references: dict[int, ReferenceImage] = {}

    def toned(self, look: Look) -> _Toned:
        """The grid drawn in the look."""
        if look not in self._toned:
            self._toned[look] = self._drawn_in(look)
        return self._toned[look]

    def _drawn_in(self, look: Look) -> _Toned:
        light, share, within = self._light, self._share, self._grid.within
        inked = even = drawn(self.lightness, look, self._aspect, within)
        if light.size == 2 or self._several:
            even = evened(inked, self._broad_tones(look), look, within)
        fitted = fit_tone(even, share, light) if light.size == 2 else fit_range(inked, share, light)
        if not self._several:
            return _Toned(fitted, hatched(fitted, look, tone_levels(light)), None)
        return _Toned(fitted, fitted, hatched(form_of(even, share), look, np.array([-1.0, 1.0])))

    def _broad_tones(self, look: Look) -> Floats:
        """What `broad_tones` gives: the same for all looks of one `around`."""
        if look.around not in self._broad:
            within = self._grid.within
            self._broad[look.around] = broad_tones(self.lightness, look, self._aspect, within)
        return self._broad[look.around]

    @cached_property
    def _as_it_is(self) -> Floats:
        """L* in the yarns' tones, in no look."""
        fit = fit_tone if self._light.size == 2 else fit_range
        return fit(self.lightness, self._share, self._light)

    @cached_property
    def outline(self) -> NDArray[np.bool_]:
        """The subject's outline, bool [R, N]."""
        return rim(self.inside)

    @cached_property
    def reference(self) -> ReferenceImage:
        """The picture without a background, as it is seen in the yarns' tones."""
        return ReferenceImage(self._as_it_is, self._aspect)

    def reference_on(self, ground: int, wanted: NDArray[np.uint8]) -> ReferenceImage:
        """The same on its ground (the yarn's index), `wanted` as `background` gives it for that ground."""
        if ground not in self._references:
            inside, belief = self.inside, self._grid.belief
            seen = np.where(inside, self._as_it_is, self._light[np.where(inside, 0, wanted)])
            sure = None if belief is None else belief.astype(np.float64)
            self._references[ground] = ReferenceImage(
                seen, self._aspect, subject=inside, belief=sure
            )
        return self._references[ground]


def draft(
    grid: Grid,
    yarns: tuple[Yarn, ...],
    yarn_lab: Floats,
    weight: Floats,
    look: Look,
    aspect: float,
    *,
    per_round: int = 2,
    ground: int | None = None,
    filler: str | None = None,
    plain: Plain | None = None,
) -> Draft:
    """Draw the grid in a look. `yarn_lab` [K, 3]; `weight` [R, N]: how much each stitch matters.

    `ground` is the background's yarn (index; None: the one that shows the outline best), `filler` its
    pattern; both matter only where the grid has a background. `plain`: the grid before it is drawn,
    where that is known. With more yarns than a round may use, the drawing itself becomes the
    canvas's form.
    """
    light = yarn_lab[:, 0]
    if plain is None:
        plain = Plain(grid, light, aspect, per_round)
    inside, toned = plain.inside, plain.toned(look)
    target, weight = grid.target.astype(np.float64), weight.copy()
    target[..., 0] = toned.shaded
    form = None if toned.form is None else toned.form.copy()
    live, free = np.ones(inside.shape, bool), np.full(inside.shape, FREE, np.uint8)
    if inside.all():
        return Draft(Canvas(target, weight, live, free, free, form, aspect), plain.reference)
    behind = ground_for(toned.fitted, inside, light) if ground is None else ground
    wanted = background(inside, light, behind, filler)
    edge = contour(toned.shaded, inside, plain.outline, light, behind)
    _ask_for(edge, target, form, weight, light[behind] >= np.median(light))
    canvas = Canvas(target, weight, live, free, wanted, form, aspect)
    return Draft(canvas, plain.reference_on(behind, wanted))


def _ask_for(
    edge: Contour, target: Floats, form: Floats | None, weight: Floats, dark: bool
) -> None:
    """Make `target`, `form` and `weight` ask for the contour, in place.

    Where form is priced, the contour asks for light or dark, whichever yarns its round has: for
    `dark` on a light ground.
    """
    places, how_much = edge.places, edge.weight
    target[..., 0][places] = edge.lightness
    if form is None:
        weight[places] *= how_much
        return
    off = -1.0 if dark else 1.0
    form[places] = off * np.maximum(off * form[places], CONTOUR_FORM * how_much)
    weight[places] *= np.maximum(how_much, 1.0)


def subject_across(subject: Floats | NDArray[np.float32]) -> int:
    """Stitches across a subject [R, N] at its widest, from its share of each stitch; 0 without one."""
    columns = np.flatnonzero((subject >= 0.5).any(axis=0))
    return 0 if columns.size == 0 else int(columns[-1] - columns[0] + 1)


def small_subject(grid: Grid, closest: float) -> tuple[Message, ...]:
    """A remark when the subject is too few stitches wide to be recognised, with what makes it wider.

    `closest`: share of the chart's width that the subject has in the frame that follows it.
    """
    wide, total = subject_across(grid.subject), grid.subject.shape[1]
    if wide in (0, total) or wide >= READABLE:
        return ()
    enough, closer = -(-total * WELL // wide), int(closest * total)
    if closer < CLOSER * wide:
        return (
            message(
                "subject-small",
                wide=wide,
                least=READABLE,
                stitches=enough,
                well=WELL,
                options=("stitches",),
            ),
        )
    return (
        message(
            "subject-small-far",
            wide=wide,
            least=READABLE,
            closer=closer,
            stitches=enough,
            well=WELL,
            options=("crop", "frame", "stitches"),
        ),
    )


def small_head(stitches: int, share: float, nearest: float) -> tuple[Message, ...]:
    """A remark where a face is too small to be drawn, and the frame of head and shoulders helps.

    `share`: of the chart's width, that the head has; `nearest`: the same in that frame.
    """
    wide, closer = int(share * stitches), int(nearest * stitches)
    if wide == 0 or wide >= READABLE or closer < READABLE:
        return ()
    return (message("head-small", wide=wide, least=READABLE, closer=closer, options=("frame",)),)
