"""What the colour-blind see, worked out from the published cones and spectra of colour-science.

Protan and deutan: Machado, Oliveira & Fernandes 2009 at severity 1, colour-science's own. Tritan:
Brettel, Viénot & Mollon, *Computerized simulation of color appearance for dichromats*, 1997: a colour
keeps its long and middle cones' signals and moves onto the half plane through white and 485 or
660 nm. The cones are Smith & Pokorny's of 1975, of XYZ; the lights' XYZ is the CIE's of 1931.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_CONES = np.array([[0.15514, 0.54312, -0.03286], [-0.15514, 0.45684, 0.03286], [0, 0, 0.01608]])
_NAMES = {"protan": "Protanomaly", "deutan": "Deuteranomaly"}


def _science() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


def seen_linear(linear: Floats, eye: str) -> Floats:
    """Linear sRGB [..., 3] as those eyes see it, not clipped."""
    if eye != "tritan":
        return np.asarray(linear @ _science().matrix_cvd_Machado2009(_NAMES[eye], 1.0).T)
    colour = _science()
    cones = linear @ (_CONES @ colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ).T
    white = _CONES @ colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ @ np.ones(3)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    out = np.empty_like(cones)
    reddish = cones[..., 1] * white[0] < cones[..., 0] * white[1]
    for nanometres, where in ((660, reddish), (485, ~reddish)):
        light = _CONES @ observer[nanometres]
        normal = np.cross(white, light)
        moved = cones.copy()
        moved[..., 2] = -(cones[..., :2] @ normal[:2]) / normal[2]
        out[where] = moved[where]
    return np.asarray(
        out @ np.linalg.inv(_CONES @ colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ).T
    )
