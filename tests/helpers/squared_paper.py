"""Charts drawn by hand on squared paper, and screenshots with exact pixels, from exact stitches."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

PAPER = (246, 243, 234)
PENCIL = (70, 70, 76)


@dataclass(frozen=True)
class Hand:
    """`jitter`: how unsteady, as a share of a square. `line`: colour of the printed lines.
    `filled`: crayon all over, or else pencil marks (cross, full square, dot, ring, slash)."""

    square: int = 40
    jitter: float = 0.06
    line: tuple[int, int, int] = (176, 196, 208)
    tenth: int = 3
    filled: bool = True
    margin: int = 60


def paper_page(
    stitches: np.ndarray, colours: list[tuple[int, int, int]], hand: Hand, seed: int = 0
) -> np.ndarray:
    """RGB page of the chart in page order (top line = last round), coloured or marked by hand.

    Yarn 0 is left as blank paper.
    """
    rng = np.random.default_rng(seed)
    rows, columns = stitches.shape
    s, m = hand.square, hand.margin
    page = np.full((rows * s + 2 * m, columns * s + 2 * m, 3), PAPER, np.uint8)
    _print_lines(page, rows, columns, hand, rng)
    for row, line in enumerate(stitches[::-1, ::-1]):
        for column, yarn in enumerate(line):
            if yarn == 0:
                continue
            corner = np.array([m + column * s, m + row * s], float)
            if hand.filled:
                _crayon(page, corner, colours[yarn], hand, rng)
            else:
                _mark(page, corner, int(yarn), hand, rng)
    grain = rng.normal(0, 2.5, page.shape[:2])[..., None]
    return np.clip(page + grain, 0, 255).astype(np.uint8)


def _print_lines(
    page: np.ndarray, rows: int, columns: int, hand: Hand, rng: np.random.Generator
) -> None:
    """Lines by the pen of a cheap press: each a little off and a little fainter or stronger."""
    s, m = hand.square, hand.margin
    for axis, count, length in ((0, columns, rows), (1, rows, columns)):
        for number in range(count + 1):
            off = m + number * s + rng.normal(0, 0.012 * s)
            thick = hand.tenth if number % 10 == 0 else 1
            shade = np.clip(np.array(hand.line) + rng.normal(0, 6), 0, 255)
            ends = [(off, m), (off, m + length * s)]
            ends = ends if axis == 0 else [e[::-1] for e in ends]
            a, b = (tuple(round(v * 16) for v in end) for end in ends)
            cv2.line(page, a, b, tuple(float(v) for v in shade), thick, cv2.LINE_AA, 4)


def _crayon(
    page: np.ndarray,
    corner: np.ndarray,
    colour: tuple[int, int, int],
    hand: Hand,
    rng: np.random.Generator,
) -> None:
    """Strokes to and fro that do not quite keep to the square, with paper shining through."""
    s = hand.square
    wander = rng.normal(0, hand.jitter * s, (4, 2))
    inset = 0.06 * s
    shape = np.array(
        [[inset, inset], [s - inset, inset], [s - inset, s - inset], [inset, s - inset]]
    )
    outline = np.round(corner + shape + wander * 0.6).astype(np.int32)
    pressed = rng.uniform(0.8, 0.95)
    x, y, w, h = cv2.boundingRect(outline)
    x, y = max(x, 0), max(y, 0)
    part = page[y : y + h, x : x + w]
    cover = np.zeros(part.shape[:2], np.float32)
    cv2.fillPoly(cover, [outline - [x, y]], 1.0, cv2.LINE_8)
    rows, columns = np.indices(cover.shape)
    phase = rng.uniform(0, 6)
    cover *= pressed * (0.85 + 0.15 * np.sin((rows + columns * 0.7) * 1.1 + phase))
    mixed = part * (1 - cover[..., None]) + np.array(colour) * cover[..., None]
    page[y : y + h, x : x + w] = mixed.astype(np.uint8)


def _mark(
    page: np.ndarray, corner: np.ndarray, yarn: int, hand: Hand, rng: np.random.Generator
) -> None:
    """Pencil marks: 1 cross, 2 full square, 3 dot, 4 slash, 5 ring."""
    s = hand.square
    wander = lambda: rng.normal(0, hand.jitter * s, 2)  # noqa: E731
    at = lambda u, v: tuple(round(16 * q) for q in corner + np.array([u, v]) * s + wander())  # noqa: E731
    thick = max(1, round(s * rng.uniform(0.07, 0.1)))
    pen = {"color": PENCIL, "thickness": thick, "lineType": cv2.LINE_AA, "shift": 4}
    if yarn == 1:
        cv2.line(page, at(0.2, 0.2), at(0.8, 0.8), **pen)
        cv2.line(page, at(0.8, 0.2), at(0.2, 0.8), **pen)
    elif yarn == 2:
        _crayon(page, corner, PENCIL, hand, rng)
    elif yarn == 3:
        cv2.circle(page, at(0.5, 0.5), int(16 * s * 0.14), PENCIL, -1, cv2.LINE_AA, 4)
    elif yarn == 4:
        cv2.line(page, at(0.2, 0.8), at(0.8, 0.2), **pen)
    else:
        cv2.circle(page, at(0.5, 0.5), int(16 * s * 0.28), PENCIL, thick, cv2.LINE_AA, 4)


def screenshot(
    stitches: np.ndarray,
    colours: list[tuple[int, int, int]],
    cell: tuple[int, int],
    line: int = 1,
    frame: tuple[int, int, int, int] = (7, 5, 9, 11),
    ground: tuple[int, int, int] = (255, 255, 255),
) -> np.ndarray:
    """Exact pixels: cells of (width, height) pixels with grid lines `line` pixels wide, on a ground
    that shows `frame` pixels at left, top, right and bottom."""
    page = np.array(colours, np.uint8)[stitches[::-1, ::-1]]
    page = page.repeat(cell[1], axis=0).repeat(cell[0], axis=1)
    if line:
        for y in range(0, page.shape[0], cell[1]):
            page[y : y + line] = (150, 150, 150)
        for x in range(0, page.shape[1], cell[0]):
            page[:, x : x + line] = (150, 150, 150)
        page = np.pad(page, ((0, line), (0, line), (0, 0)), constant_values=150)
    left, top, right, bottom = frame
    out = np.empty((page.shape[0] + top + bottom, page.shape[1] + left + right, 3), np.uint8)
    out[:] = ground
    out[top : top + page.shape[0], left : left + page.shape[1]] = page
    return out
