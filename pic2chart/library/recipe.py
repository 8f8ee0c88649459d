"""The recipe: which options a picture gets, said once for the whole folder and again for some.

A recipe file is TOML. Its own keys are the options of `chart` (`title` is the library's own), with
`sheets` (the parts of `sheet`, whose options a table `[sheet]` holds), `tags` and `take`; each
`[[pictures]]` table has a `match` pattern and the same keys for the pictures it fits, later tables
going over earlier ones. A file NAME.toml beside a picture NAME.jpg goes over them all.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from fnmatch import fnmatchcase
from functools import cached_property
from pathlib import Path
from typing import Any, Self

from pic2chart import __version__
from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.files import read_bytes, read_text
from pic2chart.core.settings import Settings, shown
from pic2chart.sheets.sheet_settings import SheetSettings

MAX_BYTES = 1_000_000
MAX_SHELF = 5_000_000
_MOST_DOTS = 200
"""On a line: the time that dotted names take to read grows with the square of their parts."""
MAKING = 2
"""Raised when the same picture and options give other files than before."""
TAKES = ("auto", "picture", "chart")


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be made of one file: the chart's settings, the sheets, words to find it by.

    `sheets`: None for what the command `chart` writes, else those of the command `sheet`.
    `take`: whether a file is a picture or a chart of one pixel a stitch; 'auto' looks.
    """

    settings: Settings = field(default_factory=Settings)
    sheets: SheetSettings | None = None
    tags: tuple[str, ...] = ()
    take: str = "auto"

    def digest(self, shelf: str) -> str:
        """A hash of everything that decides what is made of a given file; `shelf`: its contents'."""
        plain = {
            "settings": self.settings.changed(),
            "sheets": None if self.sheets is None else asdict(self.sheets),
            "tags": self.tags,
            "take": self.take,
            "shelf": shelf,
            "made by": [__version__, MAKING],
        }
        return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()


@dataclass(frozen=True)
class Recipe:
    """Options for all pictures, and (pattern, options) for those that fit; plain data.

    `path`: the recipe's own file, None when there is none.
    """

    common: Mapping[str, Any] = field(default_factory=dict)
    some: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    path: Path | None = None

    @classmethod
    def read(cls, path: Path) -> Self:
        """Read a recipe file. Raises InputError, or SettingError for an option that is none."""
        table = _toml(path, "recipe")
        tables = table.pop("pictures", [])
        if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            raise SettingError(f"'{path}': 'pictures' must be tables, each headed [[pictures]].")
        some = []
        for options in tables:
            pattern = options.pop("match", None)
            if not isinstance(pattern, str):
                raise SettingError(
                    f"'{path}': a [[pictures]] table has no 'match'; give a pattern such as 'cats/*'."
                )
            some.append((pattern, _near(options, path)))
        recipe = cls(_near(table, path), tuple(some), path)
        with_place(path, lambda: [_order(options) for _, options in (("", recipe.common), *some)])
        return recipe

    def over(self, options: Mapping[str, Any]) -> Recipe:
        """The recipe with options that go over those for all pictures."""
        return replace(self, common={**self.common, **options})

    def order(self, relative: str, side: Path | None = None) -> Order:
        """What is to be made of the picture at a path within the folder; `side`: its own file."""
        fitting = tuple(i for i, (pattern, _) in enumerate(self.some) if _fits(relative, pattern))
        if side is None:
            if fitting not in self._known:
                self._known[fitting] = _order(self._options(fitting))
            return self._known[fitting]
        own = _near(_toml(side, "side file"), side)
        order: Order = with_place(side, lambda: _order({**self._options(fitting), **own}))
        return order

    def digest(self, order: Order) -> str:
        """The order's hash, the contents of its shelf included. Raises InputError for the shelf."""
        if order not in self._digests:
            shelf = order.settings.shelf
            data = b"" if shelf is None else read_bytes(Path(shelf), MAX_SHELF, "shelf")
            self._digests[order] = order.digest(hashlib.sha256(data).hexdigest())
        return self._digests[order]

    @property
    def title(self) -> str:
        """What the library as a whole is called, '' when nothing is said."""
        return str(self.common.get("title") or "")

    @property
    def files(self) -> frozenset[Path]:
        """The recipe's own file, and the shelf files named anywhere in it."""
        named = [options.get("shelf") for options in (self.common, *(o for _, o in self.some))]
        return frozenset(Path(str(file)).absolute() for file in (self.path, *named) if file)

    def idle(self, paths: Iterable[str]) -> tuple[str, ...]:
        """The patterns that fit none of the pictures at these paths."""
        left = dict.fromkeys(pattern for pattern, _ in self.some)
        for path in paths:
            for pattern in [pattern for pattern in left if _fits(path, pattern)]:
                del left[pattern]
        return tuple(left)

    @cached_property
    def _known(self) -> dict[tuple[int, ...], Order]:
        return {}

    @cached_property
    def _digests(self) -> dict[Order, str]:
        return {}

    def _options(self, fitting: tuple[int, ...]) -> dict[str, Any]:
        options = {name: value for name, value in self.common.items() if name != "title"}
        for index in fitting:
            options.update(self.some[index][1])
        return options


def with_place(path: Path, work: Any) -> Any:
    """What `work()` gives; its error, if any, begins with the file it comes from."""
    try:
        return work()
    except Pic2ChartError as error:
        raise type(error)(f"'{path}': {error}") from error


def _order(options: Mapping[str, Any]) -> Order:
    rest = dict(options)
    sheets = _sheets(rest.pop("sheets", None), rest.pop("sheet", None))
    tags = _words(rest.pop("tags", ()), "tags")
    take = rest.pop("take", "auto")
    if take not in TAKES:
        raise SettingError(f"take is {shown(take)}; choose {' or '.join(TAKES)}.")
    return Order(Settings.from_mapping(rest), sheets, tags, take)


def _sheets(parts: Any, look: Any) -> SheetSettings | None:
    """`sheets`: parts of a set of sheets; `sheet`: the options of the command of that name."""
    if parts is None and look is None:
        return None
    options = dict(look) if isinstance(look, dict) else {"sheet": look} if look else {}
    if parts is not None:
        options["only"] = _words(parts, "sheets")
    known = {f.name for f in fields(SheetSettings)}
    for name in options:
        if name not in known:
            raise SettingError(
                f"{shown(name)} is no option of sheets; those are {', '.join(sorted(known))}."
            )
    return SheetSettings(**options)


def _words(value: Any, name: str) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or not all(isinstance(word, str) for word in value):
        raise SettingError(f"{name} is {shown(value)}; it must be a list of words in quotes.")
    return tuple(value)


def _fits(relative: str, pattern: str) -> bool:
    """A pattern with a slash is held against the path, one without against the name alone."""
    return fnmatchcase(relative if "/" in pattern else relative.rpartition("/")[2], pattern)


def _near(options: dict[str, Any], path: Path) -> dict[str, Any]:
    """The options of a file, its shelf looked for beside that file."""
    if isinstance(options.get("shelf"), str):
        return {**options, "shelf": str(path.parent / options["shelf"])}
    return options


def _toml(path: Path, what: str) -> dict[str, Any]:
    text = read_text(path, MAX_BYTES, what)
    if any(line.count(".") > _MOST_DOTS for line in text.split("\n")):
        raise InputError(
            f"The {what} '{path}' has a line with more than {_MOST_DOTS} dots; break it."
        )
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: numbers of thousands of digits too
        raise InputError(f"The {what} '{path}' is not good TOML: {error}.") from error
