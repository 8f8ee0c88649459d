"""Calibrate how sure the subject's finder is, on pictures that the network never learned from.

    python tests/training/calibrate_subject.py pictures.zip --network MODULE

The held part of the training split, the same pictures with their subjects painted over, and fresh
pictures of nothing go through the module; a logistic regression then turns its evidence (two log
odds) into the chance that mask and outline overlap by more than .7. Prints what the module keeps as
CALIBRATION, and how often the finder was right for each band of certainty, cross-validated.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import subject_data as sd
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import roc_auc_score
from sklearn.model_selection import cross_val_predict
from subject_nothings import drawn_nothings

ENOUGH = 0.7
"""The overlap from which a subject counts as found."""


def module_at(path: Path) -> ModuleType:
    """The module in a file."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"no module: {path}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


def evidence(net: ModuleType, picture: np.ndarray) -> tuple[tuple[float, float], np.ndarray]:
    """The module's two log odds, and its mask at the picture's size."""
    nothing = np.zeros((2, net.SIDE, net.SIDE), np.float32)
    share, sure = net._answer(net._squeezed(picture), nothing, net.MODEL)
    return net.evidence(share, sure), net._refined(share, picture)


def main() -> None:
    """Read the command line, look at every picture, fit, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--network", type=Path, required=True)
    args = parser.parse_args()
    net = module_at(args.network)
    held = sd.load(args.data, "held", workers=1)
    rows, right, overlaps = [], [], []
    for planes in held.stored.permute(0, 2, 3, 1).numpy():
        found, mask = evidence(net, np.ascontiguousarray(planes[..., :3]))
        own, yes, sees = mask > 0.5, planes[..., 3] > 0, planes[..., 4] > 0
        overlaps.append((own & yes & sees).sum() / max(((own | yes) & sees).sum(), 1))
        rows.append(found)
        right.append(overlaps[-1] > ENOUGH)
    bare = held.grounds[held.ground_weights > 0.5]
    for picture in (*bare, *drawn_nothings(80, 1234)):
        found, _ = evidence(net, np.ascontiguousarray(picture.permute(1, 2, 0).numpy()))
        rows.append(found)
        right.append(False)
    x, y = np.array(rows), np.array(right)
    model = LogisticRegression(C=1.0)
    chance = cross_val_predict(model, x, y, cv=8, method="predict_proba")[:, 1]
    model.fit(x, y)
    constants = (float(model.intercept_[0]), *(float(w) for w in model.coef_[0]))
    told = ", ".join(f"{c:.4f}" for c in constants)
    print(f"held: {len(overlaps)} pictures, mean overlap {np.mean(overlaps):.4f}; {len(x)} in all")
    print(f"CALIBRATION = ({told})")
    print(f"area under the curve {roc_auc_score(y, chance):.3f}; among those with a subject "
          f"{roc_auc_score(y[: len(overlaps)], chance[: len(overlaps)]):.3f}")  # fmt: skip
    for low, high in ((0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 0.95), (0.95, 1.001)):
        here = (chance >= low) & (chance < high)
        if here.any():
            print(f"certainty {low:.2f} to {min(high, 1):.2f}: {here.sum()} pictures, "
                  f"{y[here].mean():.2f} right, {chance[here].mean():.2f} said")  # fmt: skip


if __name__ == "__main__":
    main()
