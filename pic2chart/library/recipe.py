"""The recipe: which options a picture gets, said once for the whole folder and again for some.

A recipe file is TOML. Its own keys are the options of `chart` (`title` is the library's own), with
`sheets` (the parts of `sheet`, whose options a table `[sheet]` holds), `tags`, `take`, `front` and
the rights (`author`, `credit`, `licence`, `source`, `notes`); `stitches` may be a list, and each size
is made. Each `[[pictures]]` table has a `match` pattern and the same keys for the pictures it fits,
later tables going over earlier ones. A file NAME.toml beside a picture NAME.jpg goes over them all.
Tags alone add up: those of the folders a picture lies in, of all pictures, of the tables, of the side
file; `-sea` takes the tag `sea` away.
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
from typing import Any, Self, cast

from pic2chart import __version__
from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.files import read_bytes, read_text
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings, shown
from pic2chart.library.rights import Rights
from pic2chart.library.stores import StoredFile
from pic2chart.sheets.sheet_settings import SheetSettings

MAX_BYTES = 1_000_000
MAX_NEEDED = 50_000_000
_MOST_DOTS = 200
"""On a line: the time that dotted names take to read grows with the square of their parts."""
MAKING = 3
"""Raised when the same picture and options give other files than before."""
TAKES = ("auto", "picture", "chart")
MOST_SIZES = 12


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be made of one file: the chart's settings, the sheets, words to find it by.

    `sheets`: None for what the command `chart` writes, else those of the command `sheet`.
    `take`: whether a file is a picture or a chart of one pixel a stitch; 'auto' looks. `front`:
    whether the knitted fabric is drawn too, which takes the most time and room. `sizes`: stitches
    across of each size; one when only the settings' own is made. `rights`: as the recipe says them.
    """

    settings: Settings = field(default_factory=Settings)
    sheets: SheetSettings | None = None
    tags: tuple[str, ...] = ()
    take: str = "auto"
    front: bool = False
    rights: Rights = field(default_factory=Rights)
    sizes: tuple[int, ...] = ()

    def of_size(self, at: int) -> Order:
        """What is to be made at one of the sizes."""
        return replace(self, settings=replace(self.settings, stitches=self.sizes[at]), sizes=())

    def alone(self) -> Order:
        """What is to be made where there is but one size."""
        return replace(self, sizes=()) if self.sizes else self

    def files(self) -> tuple[tuple[str, Path], ...]:
        """Files that options name, by the option: the shelf, and a mask of the subject."""
        from pic2chart.picture.subject import Marks

        shelf, mask = self.settings.shelf, Marks.parse(self.settings.subject, (), ()).which
        named = (("shelf", Path(shelf) if shelf else None), ("subject", mask))
        return tuple((name, file) for name, file in named if isinstance(file, Path))

    def digest(self, needed: str) -> str:
        """A hash of everything that decides what is made of a given file; `needed`: that of the
        contents of the files which the options name."""
        plain = {
            "settings": self.settings.changed(),
            "sheets": None if self.sheets is None else asdict(self.sheets),
            "tags": self.tags,
            "front": self.front,
            "rights": self.rights.as_list(),
            "take": self.take,
            "needed": needed,
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
            raise SettingError(message("recipe-bad-tables", path=str(path)))
        some = []
        for options in tables:
            pattern = options.pop("match", None)
            if not isinstance(pattern, str):
                raise SettingError(message("recipe-no-match", path=str(path)))
            some.append((pattern, _near(options, path)))
        recipe = cls(_near(table, path), tuple(some), path)
        with_place(path, lambda: [_order(options) for _, options in (("", recipe.common), *some)])
        return recipe

    def over(self, options: Mapping[str, Any]) -> Recipe:
        """The recipe with options that go over those for all pictures."""
        return replace(self, common={**self.common, **options})

    def order(self, relative: str, side: Path | StoredFile | None = None) -> Order:
        """What is to be made of the picture at a path within the folder; `side`: its own file."""
        fitting = tuple(i for i, (pattern, _) in enumerate(self.some) if _fits(relative, pattern))
        folders = tuple(relative.split("/")[:-1])
        if side is None:
            key = fitting, folders
            if key not in self._known:
                self._known[key] = _order(self._options(fitting, folders, {}))
            return self._known[key]
        own = _near(_toml(side, "side file"), side)
        order: Order = with_place(side, lambda: _order(self._options(fitting, folders, own)))
        return order

    def digest(self, order: Order) -> str:
        """The order's hash, with the contents of the files it names. Raises InputError for those."""
        if order not in self._digests:
            whole = hashlib.sha256()
            for name, file in order.files():
                whole.update(read_bytes(file, MAX_NEEDED, name))
            self._digests[order] = order.digest(whole.hexdigest())
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
        for path in paths if left else ():
            for pattern in [pattern for pattern in left if _fits(path, pattern)]:
                del left[pattern]
        return tuple(left)

    @cached_property
    def _known(self) -> dict[tuple[tuple[int, ...], tuple[str, ...]], Order]:
        return {}

    @cached_property
    def _digests(self) -> dict[Order, str]:
        return {}

    def _options(
        self, fitting: tuple[int, ...], folders: tuple[str, ...], own: Mapping[str, Any]
    ) -> dict[str, Any]:
        """The options of a picture; `own`: its side file's."""
        common = {name: value for name, value in self.common.items() if name != "title"}
        tables = (common, *(self.some[index][1] for index in fitting), own)
        options: dict[str, Any] = {}
        for table in tables:
            options.update(table)
        tags = [*folders]
        for table in tables:
            tags += _words(table.get("tags", ()), "tags")
        options["tags"] = tuple(dict.fromkeys(_added(tags)))
        return options


def _added(tags: list[str]) -> list[str]:
    """The tags without those that a later one takes away."""
    kept: list[str] = []
    for tag in tags:
        if tag.startswith("-"):
            kept = [other for other in kept if other != tag[1:]]
        else:
            kept.append(tag)
    return kept


def with_place(path: Path | StoredFile, work: Any) -> Any:
    """What `work()` gives; its error, if any, begins with the file it comes from."""
    try:
        return work()
    except Pic2ChartError as error:
        raise type(error)(message("in-file", file=str(path), why=error.message)) from error


def _order(options: Mapping[str, Any]) -> Order:
    rest = dict(options)
    sheets = _sheets(rest.pop("sheets", None), rest.pop("sheet", None))
    tags = _words(rest.pop("tags", ()), "tags")
    take = rest.pop("take", "auto")
    if take not in TAKES:
        raise SettingError(message("recipe-no-such-take", take=shown(take), known=tuple(TAKES)))
    front = rest.pop("front", False)
    if not isinstance(front, bool):
        raise SettingError(message("recipe-not-yes-or-no", name="front", value=shown(front)))
    rights = Rights(**{f.name: _word(rest.pop(f.name, ""), f.name) for f in fields(Rights)})
    sizes = _sizes(rest)
    return Order(Settings.from_mapping(rest), sheets, tags, take, front, rights, sizes)


def _sizes(options: dict[str, Any]) -> tuple[int, ...]:
    """The sizes, when `stitches` is a list; the first is left in its place."""
    sizes = options.get("stitches")
    if not isinstance(sizes, list | tuple):
        return ()
    if not 1 <= len(sizes) <= MOST_SIZES or len(set(map(repr, sizes))) != len(sizes):
        raise SettingError(message("recipe-bad-sizes", value=shown(sizes), most=MOST_SIZES))
    for size in sizes:
        Settings.from_mapping({"stitches": size})
    options["stitches"] = sizes[0]
    return tuple(sizes) if len(sizes) > 1 else ()


def _word(value: Any, name: str) -> str:
    if not isinstance(value, str):
        raise SettingError(message("recipe-not-words", name=name, value=shown(value)))
    return " ".join(value.split())


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
                message("recipe-no-such-sheet-option", name=shown(name), known=tuple(sorted(known)))
            )
    return SheetSettings(**options)


def _words(value: Any, name: str) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or not all(isinstance(word, str) for word in value):
        raise SettingError(message("recipe-not-words", name=name, value=shown(value)))
    return tuple(value)


def _fits(relative: str, pattern: str) -> bool:
    """A pattern with a slash is held against the path, one without against the name alone."""
    return fnmatchcase(relative if "/" in pattern else relative.rpartition("/")[2], pattern)


def _near(options: dict[str, Any], path: Path | StoredFile) -> dict[str, Any]:
    """The options of a file, its shelf looked for beside that file."""
    if isinstance(options.get("shelf"), str):
        return {**options, "shelf": str(path.parent / options["shelf"])}
    return options


def _toml(path: Path | StoredFile, what: str) -> dict[str, Any]:
    text = read_text(cast(Path, path), MAX_BYTES, what)
    if any(line.count(".") > _MOST_DOTS for line in text.split("\n")):
        raise InputError(
            message("recipe-too-many-dots", what=what, path=str(path), most=_MOST_DOTS)
        )
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: numbers of thousands of digits too
        raise InputError(
            message("recipe-not-toml", what=what, path=str(path), why=str(error))
        ) from error
