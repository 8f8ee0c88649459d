"""Where ticks of a ruler may stand in a photo: tiles with one clear wave each, many along one line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

_TILE, _HOP = 32, 16
_PERIODS = (2.9, 9.5)
"""Periods of ticks that are looked for in the photo and in half of it, px."""
_TURN, _STEP, _OCTAVE = 2.0, 12.0, 0.2
"""Steps of direction, degrees, of a line's place, px, and of the logarithm of its period."""
_ASIDE = 5
"""Steps to either side within which a comb must have ended."""
_MOST = 12


@dataclass(frozen=True, slots=True, eq=False)
class _Tiles:
    """`at`: middles [n, 2] px; `wave`: [n, 2] cycles a pixel; `share`: [n] of what varies in it."""

    at: Floats
    wave: Floats
    share: Floats


def _tiles(gray: NDArray[np.uint8]) -> _Tiles:
    from scipy.fft import fft2

    views = np.lib.stride_tricks.sliding_window_view(gray, (_TILE, _TILE))[::_HOP, ::_HOP]
    parts = views.reshape(-1, _TILE, _TILE).astype(np.float32)
    rows, columns = np.indices(views.shape[:2]).reshape(2, -1) * _HOP + (_TILE - 1) / 2
    parts -= parts.mean(axis=(1, 2), keepdims=True)
    varied = parts.std(axis=(1, 2)) > 2.5
    window = np.hanning(_TILE + 2)[1:-1].astype(np.float32)
    power = np.abs(fft2(parts[varied] * np.outer(window, window))) ** 2 + 1e-3
    steps = np.fft.fftfreq(_TILE)
    frequency = np.hypot(*np.meshgrid(steps, steps))
    looked = (frequency > 1 / _PERIODS[1]) & (frequency < 1 / _PERIODS[0])
    whole = (power * (frequency > 0.5 / _PERIODS[1])).sum(axis=(1, 2))
    best = (power * looked).reshape(len(power), _TILE**2).argmax(axis=1)
    y, x = np.divmod(best, _TILE)
    n = np.arange(len(power))
    place, near = [], np.zeros(len(power))
    for row, column in ((0, 1), (1, 0)):
        low, mid, high = (
            np.log(power[n, (y + k * row) % _TILE, (x + k * column) % _TILE]) for k in (-1, 0, 1)
        )
        rest = 0.5 * (low - high) / np.minimum(low - 2 * mid + high, -1e-6)
        place.append(steps[y if row else x] + np.clip(rest, -0.7, 0.7) / _TILE)
    for row in (-1, 0, 1):
        for column in (-1, 0, 1):
            near += power[n, (y + row) % _TILE, (x + column) % _TILE]
    at = np.column_stack([columns, rows])[varied]
    return _Tiles(at, np.column_stack(place), np.minimum(2 * near / whole, 1.0))


def combs(gray: NDArray[np.uint8], scale: float) -> list[tuple[float, Floats]]:
    """Lines along which waves stand, and not beside them: how clear each is, and the homography from
    ticks along and across to pixels of the whole photo."""
    from scipy.ndimage import maximum_filter, uniform_filter

    tiles = _tiles(gray) if min(gray.shape) >= _TILE else None
    if tiles is None or not len(tiles.at):
        return []
    angle = np.arctan2(tiles.wave[:, 1], tiles.wave[:, 0]) % np.pi
    period = np.log(np.hypot(*tiles.wave.T))
    turns = round(180 / _TURN)
    reach = float(np.hypot(*gray.shape))
    votes = np.zeros((turns, int(2 * reach / _STEP) + 2, int(np.ptp(period) / _OCTAVE) + 2))
    middle = np.array(gray.shape[::-1]) / 2
    deep = ((period - period.min()) / _OCTAVE).astype(int)
    for shift in (-1, 0, 1):
        turn = np.round(np.degrees(angle) / _TURN).astype(int) + shift
        way = np.radians(turn % turns * _TURN)
        off = ((tiles.at - middle) * np.column_stack([-np.sin(way), np.cos(way)])).sum(axis=1)
        np.add.at(votes, (turn % turns, ((off + reach) / _STEP).astype(int), deep), tiles.share)
    votes = uniform_filter(votes, (1, 3, 3), mode="constant")
    aside = [np.roll(votes, by, axis=1) for by in (-_ASIDE, _ASIDE)]
    clear = votes - 0.5 * (aside[0] + aside[1])
    peaks = np.argwhere((clear == maximum_filter(clear, (5, 5, 3))) & (clear > 0))
    order = np.argsort([-clear[tuple(peak)] for peak in peaks], kind="stable")[:_MOST]
    found = []
    for peak in peaks[order]:
        way = np.radians(peak[0] * _TURN)
        apart = np.abs((angle - way + np.pi / 2) % np.pi - np.pi / 2)
        off = (tiles.at - middle) @ np.array([-np.sin(way), np.cos(way)])
        near = np.abs(off - (peak[1] + 0.5) * _STEP + reach) < 1.6 * _STEP
        near &= (apart < np.radians(2.2 * _TURN)) & (np.abs(deep - peak[2]) < 2)
        start = _start(tiles, near, way)
        if start is not None:
            back = np.array([[1 / scale, 0, 0.5 / scale - 0.5], [0, 1 / scale, 0.5 / scale - 0.5]])
            found.append((float(clear[tuple(peak)]), np.vstack([back, [0, 0, 1]]) @ start))
    return found


def _start(tiles: _Tiles, near: NDArray[np.bool_], way: float) -> Floats | None:
    """The homography that the waves of tiles on one line tell."""
    if near.sum() < 4:
        return None
    at, wave, share = tiles.at[near], tiles.wave[near], tiles.share[near]
    middle = np.average(at, axis=0, weights=share)
    _, spread, ways = np.linalg.svd((at - middle) * share[:, None], full_matrices=False)
    along = ways[0] * np.sign(ways[0] @ [np.cos(way), np.sin(way)])
    if spread[0] < 2 * spread[1]:
        return None
    wave = wave * np.sign(wave @ along)[:, None]
    # One over the root of the frequency changes evenly along a line that a camera sees.
    root = np.hypot(*wave.T) ** -0.5
    kept = np.abs(root / np.median(root) - 1) < 0.06
    if kept.sum() < 4:
        return None
    slope, level = np.polyfit((at - middle)[kept] @ along, root[kept], 1, w=share[kept])
    tick = np.average(wave[kept], axis=0, weights=share[kept]) @ np.array([[0, 1], [-1, 0]])
    tick /= np.hypot(*tick)
    change, frequency = slope / level, level**-2
    columns = [
        [*(along - change * middle), -change],
        [*tick, 0],
        [*(frequency * middle), frequency],
    ]
    return np.array(columns).T
