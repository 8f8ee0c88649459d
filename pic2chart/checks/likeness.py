"""Likeness: how much of the picture a chart keeps, as the fabric is seen from across the room.

Lightness is compared, since light against dark is what reads in stranded knitting (common practice).
Chart and picture lie on the same grid of stitches; every blur and window is round on the fabric, that
is `aspect` times shorter in rounds than in stitches, so the fabric has its true proportions. Both are
first blurred, in linear light as the eye does it, by one stitch's width: single stitches then melt
together. Three measures, each 1 when nothing is lost:

* `ssim`: mean structural similarity (Wang, Bovik, Sheikh & Simoncelli 2004, IEEE TIP 13(4)), Gaussian
  window with standard deviation 1.5, K1 = 0.01, K2 = 0.03, range of L* 100. This is the headline figure.
* `gradients`: mean gradient-magnitude similarity (Xue, Zhang, Mou & Bovik 2014, IEEE TIP 23(2)), Prewitt
  gradients, their constant 170 brought from grey levels of 255 to L* of 100.
* `edges`: the F-score of edges that lie within one stitch of one another.

No human validation of any of these is published for pictures this small; beside them stand what the
same yarns could show without rules (the ceiling) and a greedy repair of that (the baseline).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property, lru_cache
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import lightness_from_luminance

VIEWING_BLUR = 1.0
"""Blur for the viewing distance, as a standard deviation in stitch widths. At half the contrast left
after such a blur the pattern has 0.19 periods a stitch: what an eye whose sensitivity has halved at 9
periods a degree (from memory) sees of stitches of 3.6 mm from 10 metres."""
_WINDOW = 1.5
_C1, _C2 = (0.01 * 100) ** 2, (0.03 * 100) ** 2
_C_GRADIENT = 170 * (100 / 255) ** 2
_EDGE = 6.0
"""Least gradient of an edge, L* a stitch: about that of a blurred step of 17 L*."""
_SAME = 0.05
"""Two yarns of one lightness, L*, are one to this measure, which knows only light and dark."""
_REACH = 3.5
"""How far a bell reaches, in standard deviations."""

Floats = NDArray[np.float64]
Single = NDArray[np.float32]
Real = NDArray[np.floating[Any]]
"""In single or double precision; what is made of it has the same."""
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Scores:
    """SSIM, gradient similarity and edge agreement, 1 when nothing is lost."""

    ssim: float
    gradients: float
    edges: float

    @property
    def drawing(self) -> float:
        """How much of the drawing is there: the mean of structure and edges."""
        return (max(self.ssim, 0.0) + self.edges) / 2


@dataclass(frozen=True, slots=True)
class Figure:
    """How the subject stands on its ground.

    `outline`: share of the subject's outline that has a change of yarn within one stitch. `ground`:
    share of the ground's stitches, two and more away from the subject, that are as they should be.
    `whole`: how much of what looks like the subject is in it, and nothing else: the overlap (soft
    intersection over union) of the subject with what a network takes for it; 1 where that was not
    asked apart.
    """

    outline: float
    ground: float
    whole: float = 1.0

    @property
    def score(self) -> float:
        """Harmonic mean of outline and ground, since both must be good, times `whole`."""
        both = 2 * self.outline * self.ground / max(self.outline + self.ground, 1e-9)
        return both * self.whole


def _headline(subject: Scores, figure: Figure) -> float:
    """Geometric mean of a subject's drawing and the figure's score."""
    return float(np.sqrt(subject.drawing * figure.score))


@dataclass(frozen=True, slots=True)
class Likeness:
    """The scores of the whole chart, of its subject and of how that stands on its ground.

    The last two are None when the picture has no ground.
    """

    whole: Scores
    subject: Scores | None = None
    figure: Figure | None = None

    @property
    def headline(self) -> float:
        """SSIM of the whole; with a subject the geometric mean of its drawing and the figure's score."""
        if self.subject is None or self.figure is None:
            return self.whole.ssim
        return _headline(self.subject, self.figure)

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any]) -> Self:
        """Read plain data as `Kept.to_dict` gives it for one chart."""
        subject, figure = plain["subject"], plain.get("figure")
        return cls(
            Scores(**plain["whole"]),
            None if subject is None else Scores(**subject),
            None if figure is None else Figure(**figure),
        )


@dataclass(frozen=True, slots=True)
class Kept:
    """The chart's likeness beside its ceiling (no rules) and its baseline (a greedy repair)."""

    chart: Likeness
    ceiling: Likeness
    baseline: Likeness

    @property
    def share(self) -> float:
        """Likeness kept of the ceiling, 1 when the rules cost nothing."""
        return self.chart.headline / max(self.ceiling.headline, 1e-9)

    @property
    def words(self) -> str:
        """One line that a knitter understands."""
        chart, ceiling = self.chart, self.ceiling
        if chart.subject is None or chart.figure is None:
            return (
                f"{100 * chart.headline:.0f} of 100 ({100 * ceiling.headline:.0f} without any rule)"
            )
        return (
            f"{100 * chart.figure.outline:.0f} of 100 of the subject's outline shown, "
            f"{100 * chart.subject.drawing:.0f} of 100 of its drawing kept"
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain data, rounded to four digits; the baseline goes by `floor` there. `kept` is the share of
        the rounded scores, so that it comes out alike when it is worked out anew from them.
        """
        plain = dict(_rounded(asdict(self)))
        rounded = Kept(
            *(Likeness.from_dict(plain[part]) for part in ("chart", "ceiling", "baseline"))
        )
        plain["floor"] = plain.pop("baseline")
        return plain | {"kept": round(rounded.share, 4)}


class ReferenceImage:
    """A picture's lightness as it is seen from across the room, to compare charts with.

    `lightness` float [R, N]: L* each stitch should have; `aspect`: height of a stitch over its width;
    `live` bool [R, N]: where there is a stitch; `subject` bool [R, N] or None; `belief` float [R, N]:
    how much each stitch looks like subject, where that is known apart from it.
    """

    def __init__(
        self,
        lightness: Floats,
        aspect: float,
        live: Bools | None = None,
        subject: Bools | None = None,
        belief: Floats | None = None,
    ) -> None:
        self._live = np.ones(lightness.shape, bool) if live is None else live
        self._whole_live = bool(self._live.all())
        self._subject = subject if subject is not None and not subject.all() else None
        self._aspect = aspect
        self._belief = belief
        self._lightness = lightness
        self._seen = _seen(lightness, aspect)
        inside = None if self._subject is None else self._subject & self._live
        self._inside = inside if inside is not None and inside.any() else None

    @cached_property
    def _window(self) -> _Window:
        return _Window.of(self._seen, self._aspect)

    @cached_property
    def _brief_window(self) -> _Window:
        return _Window.of(_brief(self._seen), self._aspect)

    @cached_property
    def _slopes(self) -> tuple[Real, Real, Real]:
        return _gradient(_brief(self._seen), self._aspect)

    @cached_property
    def _parts(self) -> tuple[_Part, _Part | None]:
        """The whole chart and its subject, with their edges."""
        edges, inside = _edges(self._slopes), self._inside
        return _Part.of(self._live, edges), None if inside is None else _Part.of(inside, edges)

    def structure(self, shown: Floats) -> Floats:
        """SSIM at every stitch [R, N] of a fabric whose stitches have the lightness `shown` [R, N]."""
        structure = _structure(self._window, self._melted(shown), self._aspect)
        return np.asarray(structure, np.float64)

    def _melted(self, shown: Floats) -> Floats:
        """The fabric as it is seen; where there is no stitch it shows what is wanted."""
        if not self._whole_live:
            shown = np.where(self._live, shown, self._lightness)
        return _seen(shown, self._aspect)

    def headline(self, shown: Floats) -> float:
        """The headline of `compare` to four digits, without all that it does not ask."""
        seen = _brief(self._melted(shown))
        structure = _structure(self._brief_window, seen, self._aspect)
        if self._inside is None:
            return float(structure[self._live].mean())
        part = self._parts[1]
        assert part is not None
        agreement = part.agreement(_edges(_gradient(seen, self._aspect)))
        return _headline(Scores(part.mean(structure), 1.0, agreement), self._figure(shown))

    def compare(self, shown: Floats) -> Likeness:
        """The likeness of a fabric whose stitches have the lightness `shown` float [R, N]."""
        seen = self._melted(shown)
        structure = _structure(self._window, seen, self._aspect)
        got = _gradient(_brief(seen), self._aspect)
        slopes, edges = _slopes_kept(self._slopes[2], got[2]), _edges(got)
        whole, subject = (
            None
            if part is None
            else Scores(part.mean(structure), part.mean(slopes), part.agreement(edges))
            for part in self._parts
        )
        assert whole is not None
        return Likeness(whole, subject, None if subject is None else self._figure(shown))

    def _figure(self, shown: Floats) -> Figure:
        """How the subject stands on the ground of a fabric `shown` [R, N]."""
        edge, far, whole = self._ground
        outline = float(changes_near(shown)[edge].mean()) if edge.any() else 1.0
        same = np.abs(shown - self._lightness) < _SAME
        ground = int(np.count_nonzero(far))
        kept = int(np.count_nonzero(same & far)) / ground if ground else 1.0
        return Figure(outline, kept, whole)

    @cached_property
    def _ground(self) -> tuple[Bools, Bools, float]:
        """The subject's outline, the ground well away from it, and `Figure.whole`."""
        inside = self._live if self._inside is None else self._inside
        return rim(inside | ~self._live), self._live & ~near(inside, 2), self._whole(inside)

    def _whole(self, inside: Bools) -> float:
        """Overlap of the subject `inside` [R, N] with what looks like it."""
        if self._belief is None:
            return 1.0
        believed = self._belief[self._live]
        chosen = inside[self._live].astype(np.float64)
        either = np.maximum(believed, chosen).sum()
        return float(np.minimum(believed, chosen).sum() / max(either, 1e-9))


def rim(inside: Bools) -> Bools:
    """The subject's stitches that touch the ground with a side, bool [R, N]; none at the chart's edge."""
    around = np.pad(inside, 1, mode="edge")
    within = around[:-2, 1:-1] & around[2:, 1:-1] & around[1:-1, :-2] & around[1:-1, 2:]
    return np.asarray(inside & ~within)


def near(inside: Bools, steps: int) -> Bools:
    """The subject and the stitches up to `steps` away from it, diagonally too; bool [R, N]."""
    return _widened(inside, steps)


def changes_near(shown: Floats) -> Bools:
    """Where stitches differ within a stitch of the place, itself included; bool [R, N]."""
    import cv2

    square = np.ones((3, 3), np.uint8)
    return np.asarray(cv2.dilate(shown, square) - cv2.erode(shown, square) > _SAME)


def _brief(values: Floats) -> Single:
    """The same in single precision: a few millionths off, and half to carry."""
    return values.astype(np.float32)


def structure_map(a: Floats, b: Floats, aspect: float) -> Floats:
    """SSIM at every stitch, float [R, N]; a, b: L* [R, N]."""
    return np.asarray(_structure(_Window.of(a, aspect), b, aspect), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class _Window:
    """What SSIM asks of one of two pictures, in the window round every stitch; float [R, N].

    `values`: the picture; `mean` and `spread`: its mean and variance; `square`: that of its mean.
    """

    values: Real
    mean: Real
    square: Real
    spread: Real

    @classmethod
    def of(cls, values: Real, aspect: float) -> _Window:
        mean = _blurred(values, _WINDOW / aspect, _WINDOW)
        square = mean * mean
        spread = _blurred(values * values, _WINDOW / aspect, _WINDOW)
        spread -= square
        return cls(values, mean, square, spread)


def _structure(wanted: _Window, shown: Real, aspect: float) -> Real:
    """SSIM of `shown` [R, N] with a picture at every stitch, in few passes over memory."""
    got = _Window.of(shown, aspect)
    shared = _blurred(wanted.values * shown, _WINDOW / aspect, _WINDOW)
    mean, light, spread = wanted.mean * got.mean, got.square, got.spread
    shared -= mean
    for part in (mean, shared):
        part *= 2
    light += wanted.square
    spread += wanted.spread
    for part, constant in ((mean, _C1), (light, _C1), (shared, _C2), (spread, _C2)):
        part += constant
    shared *= mean
    light *= spread
    shared /= light
    return shared


def blur(values: Floats, up: float, across: float) -> Floats:
    """Gaussian blur [R, N] with standard deviations in rounds and in stitches; edges are mirrored."""
    return np.asarray(_blurred(values, up, across), np.float64)


def _blurred(values: Real, up: float, across: float) -> Real:
    import cv2

    blurred: Any = cv2.sepFilter2D(
        values, -1, _bell(across), _bell(up), borderType=cv2.BORDER_REFLECT
    )
    return np.asarray(blurred)


@lru_cache(maxsize=64)
def _bell(sigma: float) -> Floats:
    """Weights of a Gaussian with their sum 1, float [odd], as far as it reaches."""
    reach = int(_REACH * sigma + 0.5)
    bell: Floats = np.exp(-0.5 * (np.arange(-reach, reach + 1) / max(sigma, 1e-9)) ** 2)
    bell /= bell.sum()
    bell.flags.writeable = False
    return bell


def _seen(lightness: Floats, aspect: float) -> Floats:
    """L* of a fabric once its light has melted together: blurred as luminance (CIE 15)."""
    clipped = np.clip(lightness, 0, 100)
    root = (clipped + 16) / 116
    light = root * root * root
    foot = clipped <= 8
    if foot.any():
        light[foot] = clipped[foot] * 27 / 24389
    return lightness_from_luminance(blur(light, VIEWING_BLUR / aspect, VIEWING_BLUR))


_THREE, _STEP = np.ones(3), np.array([-1.0, 0.0, 1.0])


def _gradient(values: Real, aspect: float) -> tuple[Real, Real, Real]:
    """Prewitt gradients across and up, L* a stitch width, and their length; each [R, N]."""
    import cv2

    mirrored = cv2.BORDER_REFLECT
    across: Any = cv2.sepFilter2D(values, -1, _STEP, _THREE / 6, borderType=mirrored)
    up: Any = cv2.sepFilter2D(values, -1, _THREE / (6 * aspect), _STEP, borderType=mirrored)
    length: Any = cv2.magnitude(across, up)
    return across, up, length


def _slopes_kept(wanted: Real, got: Real) -> Real:
    """Gradient-magnitude similarity at every stitch of two gradients' lengths [R, N]."""
    return (2 * wanted * got + _C_GRADIENT) / (wanted * wanted + got * got + _C_GRADIENT)


def _edges(gradient: tuple[Real, Real, Real]) -> Bools:
    """Where the gradient is steep enough and steepest along its own main direction.

    Made for single precision, in which two that are alike stay so whatever order they were added in.
    """
    across, up, length = gradient
    padded = _framed(length)
    crest_across = (length >= padded[1:-1, :-2]) & (length > padded[1:-1, 2:])
    crest_up = (length >= padded[:-2, 1:-1]) & (length > padded[2:, 1:-1])
    sideways = np.abs(across) >= np.abs(up)
    crest_across &= sideways
    crest_up &= ~sideways
    crest_across |= crest_up
    crest_across &= length >= _EDGE
    return np.asarray(crest_across)


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """A part of a picture that is scored: its stitches (`weight` the same as 0 and 1), its edges, and what
    lies within one stitch of these; each [R, N].
    """

    weight: Floats
    mask: Bools
    edges: Bools
    near: Bools

    @classmethod
    def of(cls, mask: Bools, edges: Bools) -> _Part:
        edges = edges & mask
        return cls(mask.astype(np.float64), mask, edges, _widened(edges))

    def mean(self, values: Real) -> float:
        """The mean of values [R, N] in the part."""
        total = np.vdot(self.weight, values.astype(np.float64, copy=False))
        return float(total) / int(np.count_nonzero(self.mask))

    def agreement(self, edges: Bools) -> float:
        """F-score of edges that lie within one stitch of one another; 1 when there are none at all."""
        got = edges & self.mask
        wanted, shown = int(np.count_nonzero(self.edges)), int(np.count_nonzero(got))
        if not wanted and not shown:
            return 1.0
        right = int(np.count_nonzero(got & self.near)) / max(shown, 1)
        found = int(np.count_nonzero(self.edges & _widened(got))) / max(wanted, 1)
        return 2 * right * found / max(right + found, 1e-9)


def _widened(mask: Bools, steps: int = 1) -> Bools:
    """The mask and what lies up to `steps` away from it, diagonally too; bool [R, N]."""
    import cv2

    square = np.ones((2 * steps + 1, 2 * steps + 1), np.uint8)
    return np.asarray(cv2.dilate(mask.view(np.uint8), square)).view(np.bool_)


def _framed(values: NDArray[Any]) -> NDArray[Any]:
    """With one place of nothing on every side, [R + 2, N + 2]."""
    framed = np.zeros((values.shape[0] + 2, values.shape[1] + 2), values.dtype)
    framed[1:-1, 1:-1] = values
    return framed


def _rounded(plain: Any) -> Any:
    if isinstance(plain, dict):
        return {key: _rounded(value) for key, value in plain.items()}
    return round(plain, 4) if isinstance(plain, float) else plain
