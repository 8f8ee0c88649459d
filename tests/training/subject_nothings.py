"""Pictures made up without a subject, on which the subject's network learns to find nothing."""

from __future__ import annotations

import math

import cv2
import numpy as np
import torch
from subject_data import SIDE
from torch import Tensor


def drawn_nothings(count: int, seed: int) -> Tensor:
    """Pictures made up here without a subject: grounds, repeats, writing, land; uint8 [n, 3, s, s]."""
    rng = np.random.default_rng(seed)
    makers = (_clouds, _repeat, _stripes, _writing, _land, _grains, _gradient, _bricks)
    made = [makers[i % len(makers)](rng) for i in range(count)]
    return torch.from_numpy(np.stack(made)).permute(0, 3, 1, 2).contiguous()


def _two(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Two colours, apart enough to be told apart."""
    while True:
        a, b = rng.integers(0, 256, (2, 3)).astype(np.float32)
        if np.abs(a - b).sum() > 90:
            return a, b


def _between(share: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    a, b = _two(rng)
    mixed = a + (b - a) * share[..., None] + rng.normal(0, rng.uniform(0, 8), (SIDE, SIDE, 1))
    return np.clip(mixed, 0, 255).astype(np.uint8)


def _octaves(rng: np.random.Generator, first: int, falling: float, across: int = 1) -> np.ndarray:
    total = np.zeros((SIDE, SIDE), np.float32)
    cells, weight = first, 1.0
    while cells < SIDE:
        grid = rng.normal(0, 1, (cells, max(2, cells // across))).astype(np.float32)
        total += weight * cv2.resize(grid, (SIDE, SIDE), interpolation=cv2.INTER_CUBIC)
        cells, weight = cells * 2, weight * falling
    return (total - total.min()) / max(float(np.ptp(total)), 1e-6)


def _clouds(rng: np.random.Generator) -> np.ndarray:
    return _between(_octaves(rng, int(rng.integers(3, 12)), rng.uniform(0.4, 1.1)), rng)


def _grains(rng: np.random.Generator) -> np.ndarray:
    rough = _octaves(
        rng, int(rng.integers(24, 70)), rng.uniform(0.6, 1.3), int(rng.choice([1, 1, 4]))
    )
    return _between(np.clip((rough - 0.5) * rng.uniform(1, 4) + 0.5, 0, 1), rng)


def _gradient(rng: np.random.Generator) -> np.ndarray:
    y, x = np.mgrid[0:SIDE, 0:SIDE].astype(np.float32) / SIDE
    turn = rng.uniform(0, 2 * math.pi)
    share = np.cos(turn) * x + np.sin(turn) * y
    share = (share - share.min()) / np.ptp(share)
    return _between(share ** rng.uniform(0.5, 2), rng)


def _stripes(rng: np.random.Generator) -> np.ndarray:
    y, x = np.mgrid[0:SIDE, 0:SIDE].astype(np.float32)
    turn = rng.choice([0, math.pi / 2, rng.uniform(0, math.pi)])
    wave = np.sin((np.cos(turn) * x + np.sin(turn) * y) * 2 * math.pi / rng.uniform(8, 70))
    if rng.random() < 0.5:
        wave = wave * np.sin(
            (np.cos(turn) * y - np.sin(turn) * x) * 2 * math.pi / rng.uniform(8, 70)
        )
    return _between(np.clip(wave * rng.choice([0.5, 8.0]) + 0.5, 0, 1), rng)


def _repeat(rng: np.random.Generator) -> np.ndarray:
    """A small motif, perhaps mirrored, over and over, as in knitting and on wallpaper."""
    side = int(rng.integers(5, 13))
    motif = (rng.random((side, side)) < 0.4).astype(np.float32)
    if rng.random() < 0.6:
        motif = np.maximum(motif, motif[:, ::-1])
    if rng.random() < 0.3:
        motif = np.maximum(motif, motif.T)
    across = int(rng.integers(2, 7))
    tile = np.tile(motif, (across, across))
    kind = cv2.INTER_NEAREST if rng.random() < 0.6 else cv2.INTER_CUBIC
    return _between(np.clip(cv2.resize(tile, (SIDE, SIDE), interpolation=kind), 0, 1), rng)


def _bricks(rng: np.random.Generator) -> np.ndarray:
    high, wide = int(rng.integers(10, 40)), int(rng.integers(16, 80))
    gap = int(rng.integers(1, 4))
    share = np.zeros((SIDE, SIDE), np.float32)
    for row, top in enumerate(range(0, SIDE, high)):
        for left in range(-(row % 2) * wide // 2, SIDE, wide):
            shade = float(rng.uniform(0.5, 1))
            cv2.rectangle(
                share, (left + gap, top + gap), (left + wide - gap, top + high - gap), shade, -1
            )
    return _between(np.clip(share + 0.2 * _octaves(rng, 20, 0.8), 0, 1), rng)


def _writing(rng: np.random.Generator) -> np.ndarray:
    share = np.zeros((SIDE, SIDE), np.uint8)
    fonts = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_TRIPLEX, cv2.FONT_HERSHEY_SCRIPT_SIMPLEX)
    font, scale = fonts[int(rng.integers(3))], float(rng.uniform(0.3, 1.1))
    letters = list("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789,.    ")
    for line in range(int(20 * scale), SIDE + 20, int(34 * scale) + 2):
        words = "".join(rng.choice(letters, 60))
        start = (int(rng.integers(0, 20)), line)
        cv2.putText(share, words, start, font, scale, 255, 1 + int(scale * 2), cv2.LINE_AA)
    return _between(share.astype(np.float32) / 255, rng)


def _land(rng: np.random.Generator) -> np.ndarray:
    """A sky and ridges before it, each hazier the farther it lies."""
    y = np.arange(SIDE)[:, None] / SIDE
    sky, deep = _two(rng)
    made = sky + (deep - sky) * (y[..., None] ** 1.5) * np.ones((1, SIDE, 1))
    made = made + 40 * (_octaves(rng, 3, 0.6)[..., None] - 0.5)
    near = rng.integers(0, 160, 3).astype(np.float32)
    count = int(rng.integers(1, 5))
    for i in range(count):
        ridge = _octaves(rng, int(rng.integers(2, 6)), rng.uniform(0.3, 0.6))[0]
        line = 0.3 + 0.5 * (i + 1) / (count + 1) + 0.25 * (ridge - 0.5)
        colour = sky + (near - sky) * (i + 1) / count
        rough = 1 + rng.uniform(0, 0.8) * (_octaves(rng, 24, 0.9)[..., None] - 0.5)
        made = np.where((y > line[None])[..., None], colour * rough, made)
    return np.clip(made, 0, 255).astype(np.uint8)
