"""A small ICC profile of a press in CMYK, made from plain formulas, for tests alone."""

from __future__ import annotations

import struct

import numpy as np


def _padded(data: bytes) -> bytes:
    return data + bytes(-len(data) % 4)


def _text(words: str) -> bytes:
    coded = words.encode("ascii") + b"\0"
    return b"desc" + bytes(4) + struct.pack(">I", len(coded)) + coded + bytes(78)


def _lut(inputs: int, outputs: int, table: np.ndarray, grid: int) -> bytes:
    """lut8Type (ICC.1:2001-04, 6.5.9) with straight curves."""
    head = b"mft1" + bytes(4) + bytes([inputs, outputs, grid, 0])
    matrix = struct.pack(">9i", *(65536 if i % 4 == 0 else 0 for i in range(9)))
    line = bytes(range(256))
    values = np.clip(np.rint(table), 0, 255).astype(np.uint8).tobytes()
    return head + matrix + line * inputs + values + line * outputs


def press_profile() -> bytes:
    """Lab to ink by what each ink takes away of the light, and back."""
    grid = 9
    steps = np.linspace(0, 1, grid)
    c, m, y, k = np.meshgrid(steps, steps, steps, steps, indexing="ij")
    light = [(1 - ink) * (1 - k) for ink in (c, m, y)]
    lab = np.stack(
        [100 * sum(light) / 3, 60 * (light[0] - light[1]), 60 * (light[1] - light[2])], -1
    )
    to_lab = np.stack([lab[..., 0] * 2.55, lab[..., 1] + 128, lab[..., 2] + 128], -1)
    L, a, b = np.meshgrid(steps, steps, steps, indexing="ij")
    green = L + ((b - 0.5) * 255 - (a - 0.5) * 255) / 180
    red, blue = green + (a - 0.5) * 255 / 60, green - (b - 0.5) * 255 / 60
    inks = 1 - np.clip(np.stack([red, green, blue], -1), 0, 1)
    black = inks.min(axis=-1, keepdims=True)
    to_ink = 255 * np.concatenate([inks - black, black], -1)
    tags = {
        b"desc": _text("Test press"),
        b"cprt": b"text" + bytes(4) + b"public domain\0",
        b"wtpt": b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061),
        b"A2B0": _lut(4, 3, to_lab, grid),
        b"B2A0": _lut(3, 4, to_ink, grid),
    }
    at, directory, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, data in tags.items():
        directory += name + struct.pack(">II", at + len(body), len(data))
        body += _padded(data)
    size = at + len(body)
    head = struct.pack(">I", size) + bytes(4) + struct.pack(">I", 0x02100000)
    head += b"prtrCMYKLab " + struct.pack(">6H", 2024, 1, 1, 0, 0, 0) + b"acsp" + bytes(28)
    head += struct.pack(">3i", 63190, 65536, 54061)
    return head + bytes(128 - len(head)) + struct.pack(">I", len(tags)) + directory + body
