"""Yarns: what they are, the shelf they lie on, and which to choose."""

from pic2chart.yarn.yarn import Yarn

__all__ = ["Yarn"]
