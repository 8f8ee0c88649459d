"""Photographs made from exact pages: a camera with everything that goes wrong in a kitchen.

A page is a picture at a known scale. `photograph` looks at it through a pinhole camera at an angle,
with curl, blur, uneven light, a shadow, noise and JPEG. `Shot` says how bad each of them is.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from pic2chart.sheets.marks.page import Boxes, Label, Lines, Sheet, Stamps

DESK = (118, 104, 92)


@dataclass(frozen=True)
class Shot:
    """`roll` and `tilt` in degrees, `curl` as a share of the page's width, `blur` in pixels,
    `noise` in grey levels, `light` the share lost towards the dark side, `shadow` likewise."""

    roll: float = 0.0
    tilt: float = 0.0
    toward: float = 90.0
    curl: float = 0.0
    blur: float = 0.7
    noise: float = 1.0
    light: float = 0.05
    shadow: float = 0.0
    jpeg: int | None = 95
    size: tuple[int, int] = (1600, 1200)
    fill: float = 0.86
    seed: int = 0


CLEAN = Shot()
MODERATE = Shot(12, 24, 60, 0.006, 1.1, 5.0, 0.25, 0.2, 80)


def random_shot(rng: np.random.Generator, worst: Shot = MODERATE, roll: float = 30.0) -> Shot:
    """A shot no worse than `worst`, rolled by at most `roll` degrees."""
    share = rng.random(8)
    return replace(
        worst,
        roll=rng.uniform(-roll, roll),
        tilt=worst.tilt * share[0],
        toward=rng.uniform(0, 360),
        curl=worst.curl * (2 * share[1] - 1),
        blur=max(0.5, worst.blur * share[2]),
        noise=worst.noise * share[3],
        light=worst.light * share[4],
        shadow=worst.shadow * share[5],
        jpeg=int(95 - (95 - (worst.jpeg or 95)) * share[6]),
        seed=int(rng.integers(1 << 30)),
    )


def camera(page: tuple[int, int], shot: Shot) -> np.ndarray:
    """Homography 3×3 from page pixels (width, height) to photo pixels, everything in view."""
    width, height = page
    roll, tilt, toward = np.radians([shot.roll, shot.tilt, shot.toward])
    about = np.array([np.cos(toward), np.sin(toward), 0.0]) * tilt
    turn, _ = cv2.Rodrigues(about)
    flat, _ = cv2.Rodrigues(np.array([0.0, 0.0, roll]))
    rotation = turn @ flat
    focal = 1.15 * max(shot.size)
    distance = 2.2 * max(page)
    to_plane = np.array([[1, 0, -width / 2], [0, 1, -height / 2], [0, 0, 1.0]])
    pose = np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, distance]])
    project = np.diag([focal, focal, 1.0]) @ pose @ to_plane
    corners = cv2.perspectiveTransform(
        np.array([[[0, 0], [width, 0], [width, height], [0, height]]], np.float64), project
    )[0]
    low, high = corners.min(axis=0), corners.max(axis=0)
    zoom = shot.fill * min(np.array(shot.size) / (high - low))
    middle = np.array(shot.size) / 2 - zoom * (low + high) / 2
    fit = np.array([[zoom, 0, middle[0]], [0, zoom, middle[1]], [0, 0, 1]])
    return fit @ project


def photograph(page: np.ndarray, shot: Shot) -> tuple[np.ndarray, np.ndarray]:
    """The photo as RGB uint8, and the homography from page pixels to photo pixels (without curl)."""
    rng = np.random.default_rng(shot.seed)
    project = camera((page.shape[1], page.shape[0]), shot)
    twice = np.diag([2.0, 2.0, 1.0]) @ np.array([[1, 0, 0.25], [0, 1, 0.25], [0, 0, 1]])
    xs, ys = _looked_up(page, np.linalg.inv(twice @ project), shot)
    big = cv2.remap(
        page, xs, ys, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=DESK
    )
    view = cv2.resize(big, shot.size, interpolation=cv2.INTER_AREA).astype(np.float32)
    view *= _light(shot, rng)[..., None]
    view = cv2.GaussianBlur(view, (0, 0), shot.blur)
    view += rng.normal(0, shot.noise, view.shape).astype(np.float32) if shot.noise else 0
    photo = np.clip(view + 0.5, 0, 255).astype(np.uint8)
    return (photo if shot.jpeg is None else _jpeg(photo, shot.jpeg)), project


def _looked_up(page: np.ndarray, back: np.ndarray, shot: Shot) -> tuple[np.ndarray, np.ndarray]:
    """Where each pixel of the doubled photo looks on the page; curl lifts the paper's middle."""
    w, h = 2 * shot.size[0], 2 * shot.size[1]
    x, y = np.meshgrid(np.arange(w, dtype=np.float32), np.arange(h, dtype=np.float32))
    back = back.astype(np.float32)
    depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
    xs = (back[0, 0] * x + back[0, 1] * y + back[0, 2]) / depth
    ys = (back[1, 0] * x + back[1, 1] * y + back[1, 2]) / depth
    bend = np.float32(shot.curl * page.shape[1])
    xs, ys = xs.astype(np.float32), ys.astype(np.float32)
    along, up = xs / page.shape[1] - 0.5, ys / page.shape[0] - 0.5
    return xs + bend * (up**2 * 3 + along * up), ys + bend * (along**2 * 4 - up * along**2 * 3)


def _light(shot: Shot, rng: np.random.Generator) -> np.ndarray:
    """Light falling off across the photo, and the soft-edged shadow of a hand."""
    w, h = shot.size
    angle = rng.uniform(0, 2 * np.pi)
    x, y = np.meshgrid(np.linspace(-1, 1, w), np.linspace(-1, 1, h))
    side = 0.5 + 0.35 * (x * np.cos(angle) + y * np.sin(angle))
    light = 1 - shot.light * np.clip(side, 0, 1)
    if shot.shadow:
        edge = x * np.cos(angle + 2) + y * np.sin(angle + 2) + 0.25 * np.sin(3 * y + angle)
        light *= 1 - shot.shadow / (1 + np.exp(-(edge - rng.uniform(-0.2, 0.3)) * 14))
    return light.astype(np.float32)


def _jpeg(photo: np.ndarray, quality: int) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg_bytes(photo, quality))))


def jpeg_bytes(photo: np.ndarray, quality: int = 90) -> bytes:
    out = io.BytesIO()
    Image.fromarray(photo).save(out, "JPEG", quality=quality)
    return out.getvalue()


def sheet_page(sheet: Sheet, per_mm: float = 8.0) -> np.ndarray:
    """A sheet printed: every mark drawn with Pillow at `per_mm` pixels a millimetre, RGB."""
    k = per_mm
    page = Image.new("RGB", (round(sheet.width * k), round(sheet.height * k)), "white")
    draw = ImageDraw.Draw(page)
    for mark in sheet.marks:
        if isinstance(mark, Label):
            _draw_label(draw, mark, k)
            continue
        pen = {"fill": mark.style.stroke, "width": max(1, round(mark.style.width * k))}
        if isinstance(mark, Boxes):
            for x, y, w, h in mark.boxes:
                box = [x * k, y * k, (x + w) * k, (y + h) * k]
                draw.rectangle(
                    box, fill=mark.style.fill, outline=mark.style.stroke, width=pen["width"]
                )
        elif isinstance(mark, Lines):
            for line in mark.lines:
                draw.line([(x * k, y * k) for x, y in line], **pen)
        else:
            _draw_stamps(draw, mark, k, pen)
    return np.asarray(page)


def _draw_stamps(draw: ImageDraw.ImageDraw, mark: Stamps, k: float, pen: dict) -> None:
    for x, y in mark.places:
        for line in mark.shape.polylines:
            points = [((x + dx) * k, (y + dy) * k) for dx, dy in line]
            if mark.style.fill:
                draw.polygon(points, fill=mark.style.fill)
            if mark.style.stroke:
                draw.line(points + points[:1] * mark.shape.closed, **pen)


def _draw_label(draw: ImageDraw.ImageDraw, label: Label, k: float) -> None:
    font = ImageFont.load_default(size=label.size * k)
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[label.anchor]
    at = (label.at[0] * k, label.at[1] * k)
    draw.text(at, label.text, fill=label.colour, font=font, anchor=anchor)
