"""Functions of numbers and arrays, compiled to this machine's code once and kept.

`@kernel` makes a function one that is called compiled. What it calls, of its file or named there by an
import, is compiled with it, once, from its source alone (see `native_code`); LLVM does the rest. The code is kept in a cache
under a name made from all that it depends on.

Arrays have to be C-ordered and of the type that the signature says; nothing else is accepted, and no
index is checked.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import struct
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from types import FunctionType
from typing import Annotated, Any, Generic, ParamSpec, TypeVar, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve.code_cache import cache_folder


@dataclass(frozen=True, slots=True)
class Table:
    """The type of an array: its items by NumPy's name, and its dimensions."""

    item: str
    dimensions: int


@dataclass(frozen=True, slots=True)
class Fields:
    """The type of a named tuple, by the types of its fields; of a bare tuple, by their places."""

    fields: tuple[tuple[str, ValueType], ...]


ValueType = type | Table | Fields
"""A type: `int`, `float`, `bool`, or one of the above."""

Floats1 = Annotated[NDArray[np.float64], Table("float64", 1)]
Floats2 = Annotated[NDArray[np.float64], Table("float64", 2)]
Floats3 = Annotated[NDArray[np.float64], Table("float64", 3)]
Ints1 = Annotated[NDArray[np.int64], Table("int64", 1)]
Ints2 = Annotated[NDArray[np.int64], Table("int64", 2)]
Shorts1 = Annotated[NDArray[np.int32], Table("int32", 1)]
Shorts2 = Annotated[NDArray[np.int32], Table("int32", 2)]
Truths2 = Annotated[NDArray[np.bool_], Table("bool", 2)]
Bytes1 = Annotated[NDArray[np.uint8], Table("uint8", 1)]
Bytes2 = Annotated[NDArray[np.uint8], Table("uint8", 2)]
Truths1 = Annotated[NDArray[np.bool_], Table("bool", 1)]


def kind_of(annotation: Any) -> ValueType | None:
    """The type that an annotation tells; None for no result."""
    if annotation is type(None):
        return None
    if get_origin(annotation) is Annotated:
        table: Table = annotation.__metadata__[0]
        return table
    if get_origin(annotation) is tuple:
        return _record(enumerate(get_args(annotation)))
    if hasattr(annotation, "_fields"):
        hints = get_type_hints(annotation, include_extras=True)
        return _record((name, hints[name]) for name in annotation._fields)
    if annotation in (int, float, bool):
        kind: type = annotation
        return kind
    raise TypeError(f"{annotation} is no type that can be compiled")


def _record(parts: Iterator[tuple[object, Any]]) -> Fields:
    fields = [(str(name), kind_of(part)) for name, part in parts]
    return Fields(tuple((name, kind) for name, kind in fields if kind is not None))


def signature(function: Callable[..., Any]) -> tuple[tuple[ValueType, ...], ValueType | None]:
    """What a function takes, in order, and what it gives."""
    hints = get_type_hints(function, include_extras=True)
    gives = kind_of(hints.pop("return"))
    return tuple(kind for hint in hints.values() if (kind := kind_of(hint)) is not None), gives


P = ParamSpec("P")
T = TypeVar("T")


def kernel(function: Callable[P, T]) -> Kernel[P, T] | Callable[P, T]:
    """The function, compiled when it is first called; as it is where PIC2CHART_INTERPRETED is set."""
    return function if os.environ.get("PIC2CHART_INTERPRETED") == "1" else Kernel(function)


class Kernel(Generic[P, T]):
    """A function that is called compiled; `py_func` is the one that was written."""

    def __init__(self, function: Callable[P, T]) -> None:
        self.py_func = function
        self.__doc__ = function.__doc__
        self.name = function.__name__
        self._lock = threading.Lock()
        self._call: Callable[[bytes], T] | None = None

    def __call__(self, *values: P.args, **named: P.kwargs) -> T:
        """Call the compiled code, which is loaded or made at the first call. Raises TypeError."""
        call = self._call or self._ready_call()
        words: list[Any] = []
        for kind, value in zip(self._takes, values, strict=True):
            _add_words(words, kind, value)
        return call(struct.pack(self._form, *words))

    @property
    def ready(self) -> bool:
        """Whether the next call need not wait for anything to be compiled."""
        return self._call is not None or self._place().exists()

    def _ready_call(self) -> Callable[[bytes], T]:
        with self._lock:
            if self._call is None:
                self._takes, gives = signature(self.py_func)
                self._form = "".join(_letters(kind) for kind in self._takes)
                address = _load(self._code())
                result = _RESULTS[gives] if isinstance(gives, type) else None
                self._call = ctypes.CFUNCTYPE(result, ctypes.c_char_p)(address)
            return self._call

    def _code(self) -> bytes:
        """The machine's code, from the cache or made and put there."""
        place = self._place()
        with suppress(OSError):
            kept = place.read_bytes()
            if hashlib.sha256(kept[32:]).digest() == kept[:32]:
                return kept[32:]
        code = _compiled(self)
        with suppress(OSError):  # then it is compiled again next time
            _keep(place, hashlib.sha256(code).digest() + code)
        return code

    def _place(self) -> Path:
        """Where the code is kept, by what it was made from, by what, and for which machine."""
        modules = _called(self.py_func.__module__)
        names = [pair for module in modules for pair in vars(sys.modules[module]).items()]
        constants = repr([pair for pair in names if type(pair[1]) in (int, float, bool)])
        types = repr(signature(self.py_func))
        sources = (source_of(module) for module in (*modules, __name__, _WRITER))
        facts = (*sources, types, constants, *machine())
        mark = hashlib.sha256("\0".join(facts).encode()).hexdigest()[:16]
        return cache_folder() / f"{self.py_func.__module__.split('.')[-1]}.{self.name}-{mark}.code"


_RESULTS: dict[type, Any] = {int: ctypes.c_int64, float: ctypes.c_double}
_WRITER = "pic2chart.solve.native_code"


@cache
def source_of(module: str) -> str:
    """The text of a module that is loaded or can be found."""
    found = find_spec(module)
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).read_text(encoding="utf-8")


def _called(module: str) -> list[str]:
    """The modules whose functions kernels of a module may call, which make kernels too: itself first."""
    parts = [part for part in vars(sys.modules[module]).values() if isinstance(part, FunctionType)]
    more = {part.__module__ for part in parts if part.__globals__.get("kernel") is kernel}
    return [module, *sorted(more - {module, __name__})]


@cache
def machine() -> tuple[str, ...]:
    """The processor that is compiled for, and the LLVM that does it."""
    import llvmlite
    from llvmlite import binding

    features = binding.get_host_cpu_features().flatten()
    return llvmlite.__version__, binding.get_process_triple(), binding.get_host_cpu_name(), features


def _add_words(words: list[Any], kind: ValueType, value: Any) -> None:
    """Append a value as words: numbers as they are, arrays by address and sides."""
    if isinstance(kind, Table):
        if (
            type(value) is not np.ndarray
            or value.dtype != kind.item
            or value.ndim != kind.dimensions
            or not value.flags.c_contiguous
        ):
            raise TypeError(f"an array of {kind.item} in {kind.dimensions} dimensions is wanted")
        words.append(value.__array_interface__["data"][0])
        words.extend(value.shape)
    elif isinstance(kind, Fields):
        for (_, part), item in zip(kind.fields, value, strict=True):
            _add_words(words, part, item)
    else:
        words.append(kind(value))  # NumPy's own truth values are no words


def _letters(kind: ValueType) -> str:
    """How `struct` packs the words of a type."""
    if isinstance(kind, Table):
        return "q" * (1 + kind.dimensions)
    if isinstance(kind, Fields):
        return "".join(_letters(part) for _, part in kind.fields)
    return "d" if kind is float else "q"


def _keep(place: Path, content: bytes) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".writing-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(name).replace(place)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise


# --- LLVM -------------------------------------------------------------------------------------------


@cache
def _target() -> Any:
    """The machine to compile for; on x86 code that stays where it is loaded."""
    from llvmlite import binding

    with suppress(RuntimeError):  # newer ones begin by themselves
        binding.initialize()
    binding.initialize_native_target()
    binding.initialize_native_asmprinter()
    _, triple, name, features = machine()
    target = binding.Target.from_triple(triple)
    place = "static" if target.name.startswith("x86") else "default"
    return target.create_target_machine(
        cpu=name, features=features, opt=2, reloc=place, codemodel="jitdefault", jit=True
    )


def _compiled(of: Kernel[..., Any]) -> bytes:
    """The kernel's code for this machine, as an object file."""
    from llvmlite import binding

    from pic2chart.solve.native_code import CodeWriter

    text = CodeWriter(of.py_func.__module__).door(of.name)
    target = _target()
    module = binding.parse_assembly(text)
    module.triple, module.data_layout = machine()[1], str(target.target_data)
    options = binding.create_pipeline_tuning_options(speed_level=3)
    options.slp_vectorization = True
    builder = binding.create_pass_builder(target, options)
    builder.getModulePassManager().run(module, builder)
    code: bytes = target.emit_object(module)
    return code


_engines: list[Any] = []
"""They hold the code in memory and are never let go."""


def _load(code: bytes) -> int:
    """Load an object file; the address of its door."""
    from llvmlite import binding

    target = _target()
    engine = binding.create_mcjit_compiler(binding.parse_assembly(""), target)
    engine.add_object_file(binding.ObjectFileRef.from_data(code))
    engine.finalize_object()
    _engines.append(engine)
    return int(engine.get_function_address("door"))
