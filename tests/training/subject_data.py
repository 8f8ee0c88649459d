"""The pictures the subject's network learns from, and what happens to them on the way.

The data is a zip, never shipped with the program: `index.csv` (file, source, split), and for each
file a photograph `<file>.jpg` and a mask `<file>.png` (255 subject, 128 unsure, 0 ground). It was
put together from Oxford-IIIT Pet (Parkhi et al., CVPR 2012; CC BY-SA 4.0), two sets of cats
outdoors (public domain; Apache-2.0), DAVIS 2016 (Perazzi et al., CVPR 2016; BSD) and ECSSD
(Shi et al., PAMI 2016; a research set without a stated licence).

Everything after decoding happens on the accelerator, a batch at a time: a crop turned, scaled and
flipped; the subject put on another picture's ground; pictures without a subject; the camera's
faults; and the marks that a person would make on what the network has wrong.
"""

from __future__ import annotations

import csv
import io
import math
import zipfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as nnf

SIDE = 288
"""Pixels of the stored squares."""
WEIGHTS = {"mixed": 1.6, "pets": 0.7, "cats": 0.45, "cats-b": 0.2, "davis": 0.7}
"""How often a picture of each source is drawn: the varied more often than one more cat."""
HELD_EVERY = 19
"""One picture in so many of the training split is held back, to calibrate the certainty on."""


@dataclass(frozen=True)
class Pictures:
    """Squares of SIDE pixels: rgb, subject and known (where the mask is sure), ground painted in."""

    stored: Tensor
    """uint8 [n, 5, SIDE, SIDE]: red, green, blue, subject, known (the last two 0 or 255)."""
    grounds: Tensor
    """uint8 [n, 3, SIDE, SIDE]: the picture with its subject painted over from its surroundings."""
    aspects: Tensor
    """[n], width / height of the photographs."""
    weights: Tensor
    """[n], how often each is drawn; 0 for those with too little ground to stand alone as ground."""
    ground_weights: Tensor
    """[n], the same for their grounds."""
    sources: tuple[str, ...]

    def to(self, device: torch.device) -> Pictures:
        moved = (self.stored, self.grounds, self.aspects, self.weights, self.ground_weights)
        return Pictures(*(x.to(device) for x in moved), self.sources)


def painted_over(picture: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """The picture without its subject: the hole filled from around it, with a like grain."""
    small = cv2.resize(picture, (96, 96), interpolation=cv2.INTER_AREA)
    hole = cv2.resize((mask > 0).astype(np.uint8) * 255, (96, 96), interpolation=cv2.INTER_AREA)
    hole = cv2.dilate((hole > 8).astype(np.uint8), np.ones((5, 5), np.uint8))
    filled = cv2.inpaint(small, hole, 4, cv2.INPAINT_TELEA)
    filled = cv2.resize(filled, (SIDE, SIDE), interpolation=cv2.INTER_CUBIC)
    share = cv2.GaussianBlur(cv2.resize(hole.astype(np.float32), (SIDE, SIDE)), (0, 0), 3)[
        ..., None
    ]
    share = np.clip(share * 1.6, 0, 1)
    grain = picture.astype(np.float32) - cv2.GaussianBlur(picture, (0, 0), 3)
    grain[mask > 0] = 0
    shifted = np.roll(grain, (SIDE // 2, SIDE // 3), (0, 1))
    mixed = picture * (1 - share) + (filled + shifted) * share
    return np.clip(mixed, 0, 255).astype(np.uint8)


def _decoded(pair: tuple[bytes, bytes]) -> tuple[np.ndarray, np.ndarray, float]:
    cv2.setNumThreads(1)
    bgr = cv2.imdecode(np.frombuffer(pair[0], np.uint8), cv2.IMREAD_COLOR)
    mask = cv2.imdecode(np.frombuffer(pair[1], np.uint8), cv2.IMREAD_GRAYSCALE)
    aspect = bgr.shape[1] / bgr.shape[0]
    rgb = cv2.resize(bgr[..., ::-1], (SIDE, SIDE), interpolation=cv2.INTER_LINEAR)
    mask = cv2.resize(mask, (SIDE, SIDE), interpolation=cv2.INTER_NEAREST)
    planes = np.stack([(mask == 255) * np.uint8(255), (mask != 128) * np.uint8(255)], -1)
    return np.concatenate([rgb, planes], -1), painted_over(rgb, mask), aspect


def load(path: Path, split: str, limit: int = 0, workers: int = 8) -> Pictures:
    """The pictures of a split: 'fit' and 'held' are parts of the file's 'train'; or 'val'."""
    with zipfile.ZipFile(path) as archive:
        rows = list(csv.DictReader(io.StringIO(archive.read("index.csv").decode())))
        rows = [r for r in rows if r["split"] == ("val" if split == "val" else "train")]
        if split != "val":
            rows = [r for i, r in enumerate(rows) if (i % HELD_EVERY == 7) == (split == "held")]
        if limit:
            rows = rows[:: max(1, len(rows) // limit)][:limit]
        pairs = [(archive.read(r["file"] + ".jpg"), archive.read(r["file"] + ".png")) for r in rows]
    with ProcessPoolExecutor(workers) as pool:
        found = list(pool.map(_decoded, pairs, chunksize=16))
    stored = torch.from_numpy(np.stack([f[0] for f in found])).permute(0, 3, 1, 2).contiguous()
    grounds = torch.from_numpy(np.stack([f[1] for f in found])).permute(0, 3, 1, 2).contiguous()
    area = (stored[:, 3:4] > 0).float().mean((1, 2, 3))
    sources = tuple(r["source"] for r in rows)
    return Pictures(
        stored,
        grounds,
        torch.tensor([f[2] for f in found]),
        torch.tensor([WEIGHTS[s] for s in sources]),
        (area < 0.35).float() + 1e-6,
        sources,
    )


# A batch


@dataclass(frozen=True)
class Batch:
    """Pictures as the network takes them, what is right about each, and a rival to mark against."""

    picture: Tensor
    """[n, 3, s, s], (RGB − 127) / 128."""
    subject: Tensor
    """[n, 1, s, s], 0 to 1."""
    known: Tensor
    """[n, 1, s, s], 0 where the subject's mask does not say."""
    one: Tensor
    """[n, 1, s, s], the one subject among two that marks ask for; else the subject."""
    twofold: Tensor
    """[n], whether there are two."""


@dataclass(frozen=True)
class Shares:
    """How many of a batch's pictures are changed how."""

    composed: float = 0.2
    rival: float = 0.14
    ground: float = 0.045
    nothing: float = 0.03


def grids(count: int, size: int, aspects: Tensor, rng: torch.Generator, mild: Tensor) -> Tensor:
    """Where each pixel of the crops lies in its picture [n, s, s, 2], −1 to 1; some flipped."""
    device = aspects.device

    def uniform(low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(count, generator=rng, device=device)

    share = torch.exp(uniform(math.log(0.5), math.log(1.12)))
    share = torch.where(mild, torch.exp(uniform(math.log(0.88), math.log(1.05))), share)
    stretch = torch.exp(uniform(-0.22, 0.22))
    turn = torch.randn(count, generator=rng, device=device) * 0.16
    turn = torch.where(uniform(0, 1) < 0.06, uniform(-math.pi, math.pi), turn)
    across, down = share * stretch, share / stretch
    flip = torch.where(uniform(0, 1) < 0.5, 1.0, -1.0)
    room = (1 - share).clamp(min=0.0) + 0.05
    x0, y0 = uniform(-1, 1) * room, uniform(-1, 1) * room
    # A turn is rigid in the photograph, not in the stored square.
    wide = aspects.clamp(0.4, 2.5)
    cos, sin = torch.cos(turn), torch.sin(turn)
    rows = torch.stack(
        [
            torch.stack([cos * across * flip, -sin * down / wide, x0], -1),
            torch.stack([sin * across * flip * wide, cos * down, y0], -1),
        ],
        1,
    )
    return nnf.affine_grid(rows, [count, 1, size, size], align_corners=False)


def sampled(planes: Tensor, grid: Tensor) -> Tensor:
    return nnf.grid_sample(
        planes, grid.to(planes.dtype), padding_mode="reflection", align_corners=False
    )


def drawn(weights: Tensor, count: int, rng: torch.Generator) -> Tensor:
    return torch.multinomial(weights, count, replacement=True, generator=rng)


def batch(
    data: Pictures,
    nothings: Tensor,
    count: int,
    size: int,
    rng: torch.Generator,
    shares: Shares,
) -> Batch:
    """A batch of `count` pictures of size × size, changed in every way."""
    device = data.stored.device

    def chance(p: float) -> Tensor:
        return torch.rand(count, generator=rng, device=device) < p

    which = drawn(data.weights, count, rng)
    planes = data.stored[which].float() / 255
    aspects = data.aspects[which]
    grid = grids(count, size, aspects, rng, chance(0.25))
    seen = sampled(planes[:, 3:4], grid).mean((1, 2, 3))
    # A crop that lost its subject is no example of it: the whole picture then.
    lost = (seen < 0.02) | (seen < 0.15 * planes[:, 3].mean((1, 2)))
    again = grids(count, size, aspects, rng, torch.ones(count, dtype=torch.bool, device=device))
    grid = torch.where(lost[:, None, None, None], again, grid)
    planes = sampled(planes, grid)
    picture, subject = planes[:, :3], (planes[:, 3:4] * 1.0)
    known = (planes[:, 4:5] > 0.99).float()
    one, twofold = subject, torch.zeros(count, dtype=torch.bool, device=device)

    # The subject on another's ground, or beside another's subject.
    other = drawn(data.ground_weights, count, rng)
    other_grid = grids(count, size, data.aspects[other], rng, chance(0.3))
    alpha = softened(subject + 0.5 * (1 - known) * (1 - subject))
    ground = sampled(data.grounds[other].float() / 255, other_grid)
    composed = (chance(shares.composed) & (seen < 0.6))[:, None, None, None]
    mixed = graded(picture, rng, 0.5) * alpha + graded(ground, rng, 0.5) * (1 - alpha)
    picture = torch.where(composed, mixed, picture)

    rival = sampled(data.stored[other].float() / 255, other_grid)
    rival_seen = rival[:, 3:4] * (1 - alpha)
    twofold = chance(shares.rival) & ~composed[:, 0, 0, 0]
    twofold &= (rival_seen.mean((1, 2, 3)) > 0.03) & (seen < 0.5) & (seen > 0.03)
    pair = twofold[:, None, None, None]
    picture = torch.where(pair, picture * alpha + rival[:, :3] * (1 - alpha), picture)
    subject = torch.where(pair, torch.maximum(subject, rival_seen), subject)
    known = torch.where(pair, known * ((rival[:, 4:5] > 0.99) | (alpha > 0.5)).float(), known)

    # Nothing there.
    bare = chance(shares.ground)[:, None, None, None]
    picture = torch.where(bare, ground, picture)
    drawn_here = chance(shares.nothing)[:, None, None, None]
    made = nothings[torch.randint(len(nothings), (count,), generator=rng, device=device)]
    made = sampled(
        made.float() / 255, grids(count, size, torch.ones_like(aspects), rng, chance(0.5))
    )
    picture = torch.where(drawn_here, made, picture)
    empty = bare | drawn_here
    subject = torch.where(empty, torch.zeros_like(subject), subject)
    known = torch.where(empty, torch.ones_like(known), known)
    one = torch.where(empty, torch.zeros_like(one), one)
    twofold &= ~empty[:, 0, 0, 0]

    picture = photographed(picture, rng)
    return Batch((picture * 255 - 127) / 128, subject, known, one, twofold)


def softened(share: Tensor) -> Tensor:
    return nnf.avg_pool2d(nnf.avg_pool2d(share, 3, 1, 1), 3, 1, 1)


def graded(picture: Tensor, rng: torch.Generator, amount: float) -> Tensor:
    """Exposure, contrast, white balance and saturation, each a little off; 0 to 1."""
    count, device = len(picture), picture.device

    def normal(deviation: float, channels: int = 1) -> Tensor:
        noise = torch.randn(count, channels, 1, 1, generator=rng, device=device)
        return noise * deviation * amount

    grey = (picture * picture.new_tensor([0.299, 0.587, 0.114])[None, :, None, None]).sum(
        1, keepdim=True
    )
    picture = grey + (picture - grey) * torch.exp(normal(0.45))
    picture = picture.clamp(1e-4, 1) ** torch.exp(normal(0.3))
    mean = picture.mean((1, 2, 3), keepdim=True)
    picture = mean + (picture - mean) * torch.exp(normal(0.3)) + normal(0.08)
    return (picture * torch.exp(normal(0.1, 3))).clamp(0, 1)


def photographed(picture: Tensor, rng: torch.Generator) -> Tensor:
    """The camera's and the file's faults: colours, hue, grey, blur, smallness, noise, JPEG."""
    count, device = len(picture), picture.device
    size = picture.shape[-1]

    def chance(p: float) -> Tensor:
        return (torch.rand(count, generator=rng, device=device) < p)[:, None, None, None]

    def uniform() -> Tensor:
        return torch.rand(count, 1, 1, 1, generator=rng, device=device)

    picture = torch.where(chance(0.85), graded(picture, rng, 1.0), picture)
    shuffled = picture[:, torch.randperm(3, generator=rng, device=device)]
    picture = torch.where(chance(0.06), shuffled, picture)
    grey = picture.mean(1, keepdim=True).expand_as(picture)
    picture = torch.where(chance(0.12), grey, picture)
    blurred = nnf.avg_pool2d(nnf.avg_pool2d(picture, 5, 1, 2, count_include_pad=False), 3, 1, 1,
                           count_include_pad=False)  # fmt: skip
    # Less than nothing of a blur is a sharpening.
    picture = torch.where(
        chance(0.3), picture + (blurred - picture) * (2 * uniform() - 0.8), picture
    )
    small = nnf.interpolate(picture, size=(size // 3, size // 3), mode="area")
    small = nnf.interpolate(small, size=(size, size), mode="bilinear", align_corners=False)
    picture = torch.where(chance(0.08), small, picture)
    noise = torch.randn(picture.shape, generator=rng, device=device)
    noise = torch.where(chance(0.5), noise, noise.mean(1, keepdim=True) * 1.7)
    picture = torch.where(chance(0.35), picture + noise * uniform() ** 2 * 0.14, picture)
    picture = picture.clamp(0, 1)
    return torch.where(chance(0.25), squeezed(picture, 4 + 60 * uniform() ** 2), picture)


def squeezed(picture: Tensor, step: Tensor) -> Tensor:
    """What JPEG leaves: 8 × 8 cosine transforms rounded to steps that grow with frequency."""
    n, c, high, wide = picture.shape
    k = torch.arange(8, device=picture.device, dtype=picture.dtype)
    basis = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * 0.5
    basis[0] *= math.sqrt(0.5)
    # One flat product a direction: a small product for every block would be ten times as slow.
    blocks = (picture * 255 - 128).reshape(n, c, high // 8, 8, wide // 8, 8).transpose(3, 4)
    cosines = (blocks @ basis.T).transpose(-1, -2) @ basis.T
    steps = step[..., None, None] * (0.35 + (k[None] + k[:, None]) / 7)
    cosines = torch.round(cosines / steps) * steps
    blocks = (cosines @ basis).transpose(-1, -2) @ basis
    return ((blocks.transpose(3, 4).reshape(n, c, high, wide) + 128) / 255).clamp(0, 1)


# Marks


def disc_planes(centres: Tensor, radii: Tensor, size: int) -> Tensor:
    """[n, 1, s, s], 1 within each disc; a radius of 0 or less draws nothing."""
    line = torch.arange(size, device=centres.device, dtype=torch.float32)
    away = (line[None, :, None] - centres[:, 0, None, None]) ** 2
    away = away + (line[None, None] - centres[:, 1, None, None]) ** 2
    return ((away <= radii[:, None, None] ** 2) & (radii[:, None, None] > 0)).float()[:, None]


def boxes_around(
    subject: Tensor, rng: torch.Generator, loose: tuple[float, float] = (-0.02, 0.16)
) -> Tensor:
    """[n, 1, s, s]: 1 outside a box around each subject, its sides off by shares of its size."""
    size = subject.shape[-1]
    sides = []
    for axis in (2, 3):
        line = subject.amax((1, 5 - axis)) > 0.5
        first = line.float().argmax(1).float()
        last = size - 1 - line.flip(1).float().argmax(1).float()
        extent = last - first + 1
        rooms = [
            loose[0] + (loose[1] - loose[0]) * torch.rand(
                len(line), generator=rng, device=line.device
            ) ** 1.5
            for _ in range(2)
        ]  # fmt: skip
        at = torch.arange(size, device=line.device)[None]
        low, high = first - rooms[0] * extent, last + rooms[1] * extent
        inside = (at >= low[:, None]) & (at <= high[:, None])
        sides.append(inside | ~line.any(1, keepdim=True))
    inside = sides[0][:, :, None] & sides[1][:, None]
    return (~inside).float()[:, None]


def strokes(
    answer: Tensor, wanted: Tensor, known: Tensor, rng: torch.Generator, radius: tuple[float, float]
) -> Tensor:
    """[n, 2, s, s]: a disc in the middle of where the answer is most wrong; kept, or left out.

    The middle is where a wide blur of the wrongness peaks, so that a mark falls into the largest
    wrong region and not on an outline; nothing is marked where nearly nothing is wrong.
    """
    n, _, size, _ = answer.shape
    missing = ((wanted > 0.5) & (answer < 0.5)).float() * known
    extra = ((wanted < 0.5) & (answer >= 0.5)).float() * known
    side = size // 4
    peaks = []
    for wrong in (missing, extra):
        wrong = nnf.avg_pool2d(wrong, 4)
        wide = side // 20 * 2 + 1
        spread = nnf.avg_pool2d(wrong, wide, 1, wide // 2) * (wrong > 0.9)
        spread = spread * (1 + 0.2 * torch.rand(spread.shape, generator=rng, device=spread.device))
        value, where = spread.flatten(1).max(1)
        place = torch.stack([where // side, where % side], -1).float()
        peaks.append((value, place * 4 + 1.5))
    keeping = peaks[0][0] >= peaks[1][0]
    centre = torch.where(keeping[:, None], peaks[0][1], peaks[1][1])
    strength = torch.where(keeping, peaks[0][0], peaks[1][0])
    radii = radius[0] + (radius[1] - radius[0]) * torch.rand(n, generator=rng, device=answer.device)
    radii = torch.where(strength > 0.12, radii, -1.0)
    disc = disc_planes(centre, radii, size)
    keep = keeping[:, None, None, None].float()
    # A person's stroke may run over the edge; what it says it says of the right side only.
    return torch.cat([disc * keep, disc * (1 - keep)], 1)


def random_discs(n: int, size: int, rng: torch.Generator, device: torch.device) -> Tensor:
    """[n, 2, s, s]: a disc anywhere, saying anything."""
    centre = torch.rand(n, 2, generator=rng, device=device) * size
    radii = 6 + 12 * torch.rand(n, generator=rng, device=device)
    disc = disc_planes(centre, radii, size)
    keep = (torch.rand(n, generator=rng, device=device) < 0.5).float()[:, None, None, None]
    return torch.cat([disc * keep, disc * (1 - keep)], 1)


def joined(marks: Sequence[Tensor]) -> Tensor:
    """Planes of several marks as one: a place is marked where any marks it."""
    total = marks[0]
    for more in marks[1:]:
        total = torch.maximum(total, more)
    return total
