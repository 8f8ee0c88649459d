"""What a run passes over without an error, and the one who asked for it should know."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator

from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import Listing

_MOST = 5
"""Names told one by one."""


def remarks_on(listing: Listing, recipe: Recipe) -> tuple[str, ...]:
    """Files that are no pictures, side files beside no picture, and patterns that fit none."""
    return (*_strange(listing), *_lonely(listing), *_idle(listing, recipe))


def _strange(listing: Listing) -> Iterator[str]:
    count = Counter(
        os.path.splitext(path)[1].lower() or "without an ending" for path in listing.strange
    )
    if count:
        kinds = ", ".join(f"{number:,} {ending}" for ending, number in sorted(count.items()))
        yield f"Passed over, as neither pictures nor charts: {kinds}."


def _lonely(listing: Listing) -> Iterator[str]:
    for path in listing.lonely[:_MOST]:
        yield f"'{path}' has no picture of its name beside it, so it is not used."
    if len(listing.lonely) > _MOST:
        yield f"Nor have {len(listing.lonely) - _MOST:,} more such files."


def _idle(listing: Listing, recipe: Recipe) -> Iterator[str]:
    for pattern in recipe.idle(file.path for file in listing.found):
        yield f"The recipe's pattern '{pattern}' fits no picture."
