"""Plain functions of numbers and arrays, written down as LLVM code.

The functions are ordinary Python and run as such; what is written here of the language is what they
use: whole numbers, floating-point numbers and truth values, C-ordered arrays of them (items and rows, no
slices), named tuples of these, `if`, `while`, `for … in range`, and calls of one another. Every parameter
and result says its type. Whole numbers are of 64 bits, and indices count from the front.

Parts that arrays and named tuples are made of are passed one by one (`leaves`), so that LLVM sees
pointers and sizes and nothing else: nothing is counted, checked or raised in compiled code.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from llvmlite import ir

from pic2chart.solve.native import Fields, Table, ValueType, signature, source_of

_INT, _FLOAT, _BOOL = ir.IntType(64), ir.DoubleType(), ir.IntType(1)
_SCALARS = {int: _INT, float: _FLOAT, bool: _BOOL}
_ITEMS = {
    "uint8": ir.IntType(8),
    "bool": ir.IntType(8),
    "int32": ir.IntType(32),
    "int64": _INT,
    "float64": _FLOAT,
}


@dataclass(frozen=True, slots=True)
class Value:
    """What an expression comes to: its type and the LLVM values that make it up."""

    kind: ValueType
    leaves: tuple[Any, ...]

    def field(self, name: str) -> Value:
        """A field of a record."""
        assert isinstance(self.kind, Fields)
        at = 0
        for field, kind in self.kind.fields:
            size = len(leaf_types(kind))
            if field == name:
                return Value(kind, self.leaves[at : at + size])
            at += size
        raise TypeError(f"no field {name}")


def leaf_types(kind: ValueType) -> list[Any]:
    """The LLVM types that make up a type: an array's are its address and sides."""
    if isinstance(kind, Table):
        return [_ITEMS[kind.item].as_pointer(), *[_INT] * kind.dimensions]
    if isinstance(kind, Fields):
        return [leaf for _, part in kind.fields for leaf in leaf_types(part)]
    return [_SCALARS[kind]]


@dataclass(frozen=True, slots=True)
class Written:
    """A function that is written: what it takes, what it gives, and its LLVM function."""

    takes: tuple[ValueType, ...]
    gives: ValueType | None
    code: Any


class CodeWriter:
    """The functions of one module and the constants they name, and the code written of them."""

    def __init__(self, home: str, code: Any = None) -> None:
        tree = ast.parse(source_of(home))
        self.functions = {
            part.name: part for part in tree.body if isinstance(part, ast.FunctionDef)
        }
        self.names = vars(sys.modules[home])
        self.module = ir.Module("kernels") if code is None else code
        self._written: dict[str, Written] = {}
        self._others: dict[str, CodeWriter] = {}

    def written(self, name: str) -> Written:
        """The function of that name, written with all that it calls; from where it stands."""
        home = self.names[name].__module__
        if name not in self.functions:
            if home not in self._others:
                self._others[home] = CodeWriter(home, self.module)
            return self._others[home].written(name)
        if name not in self._written:
            self._written[name] = self._write(name)
        return self._written[name]

    def _write(self, name: str) -> Written:
        function = self.names[name]
        takes, gives = signature(getattr(function, "py_func", function))
        types = [leaf for kind in takes for leaf in leaf_types(kind)]
        code = ir.Function(self.module, ir.FunctionType(_result(gives), types), name)
        code.linkage = "internal"
        code.attributes.add("nounwind")
        _Body(self, Written(takes, gives, code)).write(self.functions[name])
        return Written(takes, gives, code)

    def door(self, name: str) -> str:
        """The whole code with a function `door` that is given all leaves as 64-bit words, one by one."""
        inner = self.written(name)
        words = [leaf for kind in inner.takes for leaf in leaf_types(kind)]
        result = ir.VoidType() if inner.gives is None else leaf_types(inner.gives)[0]
        code = ir.Function(self.module, ir.FunctionType(result, [_INT.as_pointer()]), "door")
        build = ir.IRBuilder(code.append_basic_block())
        leaves = [_word(build, code.args[0], at, kind) for at, kind in enumerate(words)]
        given = build.call(inner.code, leaves)
        build.ret_void() if inner.gives is None else build.ret(given)
        return str(self.module)


def _word(build: Any, words: Any, at: int, kind: Any) -> Any:
    word = build.load(build.gep(words, [_INT(at)]))
    if isinstance(kind, ir.PointerType):
        return build.inttoptr(word, kind)
    if kind == _FLOAT:
        return build.bitcast(word, kind)
    return word if kind == _INT else build.trunc(word, kind)


def _result(kind: ValueType | None) -> Any:
    if kind is None:
        return ir.VoidType()
    leaves = leaf_types(kind)
    return leaves[0] if len(leaves) == 1 else ir.LiteralStructType(leaves)


class _Body:
    """Writes the body of one function. Numbers live in slots, all else under its name."""

    def __init__(self, source: CodeWriter, function: Written) -> None:
        self.source, self.function = source, function
        self.entry = function.code.append_basic_block()
        self.build = ir.IRBuilder(function.code.append_basic_block())
        self.slots: dict[str, tuple[ValueType, Any]] = {}
        self.fixed: dict[str, Value] = {}
        self.loops: list[tuple[Any, Any]] = []

    def write(self, node: ast.FunctionDef) -> None:
        first, leaves = self.build.block, iter(self.function.code.args)
        for argument, kind in zip(node.args.args, self.function.takes, strict=True):
            value = Value(kind, tuple(next(leaves) for _ in leaf_types(kind)))
            self._bind(argument.arg, value)
        self._do(node.body)
        if not self.build.block.is_terminated:
            self.build.ret_void() if self.function.gives is None else self.build.unreachable()
        ir.IRBuilder(self.entry).branch(first)

    # --- Statements -------------------------------------------------------------------------------

    def _do(self, body: list[ast.stmt]) -> None:
        for node in body:
            if not self.build.block.is_terminated:
                getattr(self, f"_do_{type(node).__name__.lower()}")(node)

    def _do_expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):
            self._value(node.value)

    def _do_assign(self, node: ast.Assign) -> None:
        value = self._value(node.value)
        for target in node.targets:
            self._assign(target, value)

    def _do_annassign(self, node: ast.AnnAssign) -> None:
        assert node.value is not None
        self._assign(node.target, self._value(node.value))

    def _do_augassign(self, node: ast.AugAssign) -> None:
        read = self._value(node.target)
        self._assign(node.target, self._combine(node.op, read, self._value(node.value)))

    def _assign(self, target: ast.expr, value: Value) -> None:
        if isinstance(target, ast.Tuple):
            for at, part in enumerate(target.elts):
                self._assign(part, value.field(str(at)))
        elif isinstance(target, ast.Name):
            self._bind(target.id, value)
        else:
            assert isinstance(target, ast.Subscript)
            table, place = self._place(target)
            self.build.store(self._as_item(value, table.item), place)

    def _bind(self, name: str, value: Value) -> None:
        if not isinstance(value.kind, type):
            if name in self.fixed:
                raise TypeError(f"{name} names two arrays")
            self.fixed[name] = value
            return
        if name not in self.slots:
            slot = ir.IRBuilder(self.entry).alloca(_SCALARS[value.kind], name=name)
            self.slots[name] = value.kind, slot
        kind, slot = self.slots[name]
        self.build.store(self._as(value, kind).leaves[0], slot)

    def _do_return(self, node: ast.Return) -> None:
        gives = self.function.gives
        if node.value is None or gives is None:
            self.build.ret_void()
            return
        leaves = self._as(self._value(node.value), gives).leaves
        if len(leaves) == 1:
            self.build.ret(leaves[0])
            return
        whole = ir.Constant(_result(gives), ir.Undefined)
        for at, leaf in enumerate(leaves):
            whole = self.build.insert_value(whole, leaf, at)
        self.build.ret(whole)

    def _do_if(self, node: ast.If) -> None:
        then, other, after = self._blocks(3)
        self.build.cbranch(self._truth(node.test), then, other)
        for block, body in ((then, node.body), (other, node.orelse)):
            self.build.position_at_end(block)
            self._do(body)
            self._go(after)
        self.build.position_at_end(after)

    def _do_while(self, node: ast.While) -> None:
        test, body, after = self._blocks(3)
        self._go(test)
        self.build.position_at_end(test)
        self.build.cbranch(self._truth(node.test), body, after)
        self._loop(node.body, body, test, after)

    def _do_for(self, node: ast.For) -> None:
        assert isinstance(node.iter, ast.Call)
        assert isinstance(node.target, ast.Name)
        given = [self._as(self._value(part), int).leaves[0] for part in node.iter.args]
        start, stop = (_INT(0), given[0]) if len(given) == 1 else given[:2]
        down = len(given) == 3 and isinstance(node.iter.args[2], ast.UnaryOp)
        counter = ir.IRBuilder(self.entry).alloca(_INT)
        self.build.store(start, counter)
        test, body, step, after = self._blocks(4)
        self._go(test)
        self.build.position_at_end(test)
        now = self.build.load(counter)
        self.build.cbranch(self.build.icmp_signed(">" if down else "<", now, stop), body, after)
        self.build.position_at_end(body)
        self._bind(node.target.id, Value(int, (now,)))
        self._loop(node.body, body, step, after)
        self.build.position_at_end(step)
        on = given[2] if len(given) == 3 else _INT(1)
        self.build.store(self.build.add(self.build.load(counter), on, flags=["nsw"]), counter)
        self._go(test)
        self.build.position_at_end(after)

    def _loop(self, statements: list[ast.stmt], body: Any, again: Any, after: Any) -> None:
        self.loops.append((again, after))
        self.build.position_at_end(body)
        self._do(statements)
        self._go(again)
        self.loops.pop()
        self.build.position_at_end(after)

    def _do_break(self, node: ast.Break) -> None:
        self._go(self.loops[-1][1])

    def _do_continue(self, node: ast.Continue) -> None:
        self._go(self.loops[-1][0])

    def _blocks(self, count: int) -> Iterator[Any]:
        return iter([self.function.code.append_basic_block() for _ in range(count)])

    def _go(self, block: Any) -> None:
        if not self.build.block.is_terminated:
            self.build.branch(block)

    # --- Expressions ------------------------------------------------------------------------------

    def _value(self, node: ast.expr) -> Value:
        value: Value = getattr(self, f"_{type(node).__name__.lower()}")(node)
        return value

    def _constant(self, node: ast.Constant) -> Value:
        return self._known_number(node.value)

    def _known_number(self, number: Any) -> Value:
        kind = type(number)
        return Value(kind, (ir.Constant(_SCALARS[kind], number),))

    def _name(self, node: ast.Name) -> Value:
        if node.id in self.slots:
            kind, slot = self.slots[node.id]
            return Value(kind, (self.build.load(slot),))
        if node.id in self.fixed:
            return self.fixed[node.id]
        return self._known_number(self.source.names[node.id])

    def _attribute(self, node: ast.Attribute) -> Value:
        return self._value(node.value).field(node.attr)

    def _tuple(self, node: ast.Tuple) -> Value:
        parts = [self._value(part) for part in node.elts]
        kind = Fields(tuple((str(at), part.kind) for at, part in enumerate(parts)))
        return Value(kind, tuple(leaf for part in parts for leaf in part.leaves))

    def _subscript(self, node: ast.Subscript) -> Value:
        if isinstance(node.value, ast.Attribute) and node.value.attr == "shape":
            table = self._value(node.value.value)
            return Value(int, (table.leaves[1 + ast.literal_eval(node.slice)],))
        left, place = self._place(node)
        if left.dimensions:
            rest = self._value(node.value).leaves[-left.dimensions :]
            return Value(left, (place, *rest))
        item = self.build.load(place)
        if left.item == "bool":
            return Value(bool, (self.build.icmp_unsigned("!=", item, item.type(0)),))
        if left.item == "uint8":
            return Value(int, (self.build.zext(item, _INT),))
        if left.item == "int32":
            return Value(int, (self.build.sext(item, _INT),))
        return Value(float if left.item == "float64" else int, (item,))

    def _place(self, node: ast.Subscript) -> tuple[Table, Any]:
        """Where an item, or a row, of an array begins; the type of what is left of the array there."""
        array = self._value(node.value)
        assert isinstance(array.kind, Table)
        indices = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
        sides, at = array.leaves[1:], _INT(0)
        for dimension, side in enumerate(sides):
            at = self.build.mul(at, side, flags=["nsw"]) if dimension else at
            if dimension < len(indices):
                index = self._as(self._value(indices[dimension]), int).leaves[0]
                at = self.build.add(at, index, flags=["nsw"]) if dimension else index
        place = self.build.gep(array.leaves[0], [at], inbounds=True)
        return Table(array.kind.item, array.kind.dimensions - len(indices)), place

    def _as_item(self, value: Value, item: str) -> Any:
        kind = _ITEMS[item]
        if item == "float64":
            return self._as(value, float).leaves[0]
        whole = self._as(value, int).leaves[0]
        return whole if kind == _INT else self.build.trunc(whole, kind)

    def _as(self, value: Value, kind: ValueType) -> Value:
        """The value as another type that holds it: truth as a number, a whole number as any."""
        if value.kind == kind:
            return value
        if isinstance(kind, Fields):
            parts = [self._as(value.field(name), part) for name, part in kind.fields]
            return Value(kind, tuple(leaf for part in parts for leaf in part.leaves))
        if value.kind is bool and kind in (int, float):
            value = Value(int, (self.build.zext(value.leaves[0], _INT),))
        if value.kind is int and kind is float:
            return Value(float, (self.build.sitofp(value.leaves[0], _FLOAT),))
        if value.kind != kind:
            raise TypeError(f"a value of {value.kind} where {kind} is wanted")
        return value

    def _truth(self, node: ast.expr) -> Any:
        value = self._value(node)
        if value.kind is bool:
            return value.leaves[0]
        assert value.kind is int
        return self.build.icmp_signed("!=", value.leaves[0], _INT(0))

    def _ifexp(self, node: ast.IfExp) -> Value:
        return self._chosen(
            self._truth(node.test), lambda: self._value(node.body), lambda: self._value(node.orelse)
        )

    def _boolop(self, node: ast.BoolOp) -> Value:
        known = isinstance(node.op, ast.Or)
        value = Value(bool, (self._truth(node.values[0]),))
        for part in node.values[1:]:
            settled = lambda: Value(bool, (_BOOL(known),))  # noqa: E731
            further = lambda part=part: Value(bool, (self._truth(part),))  # noqa: E731
            both = (settled, further) if known else (further, settled)
            value = self._chosen(value.leaves[0], *both)
        return value

    def _chosen(self, truth: Any, first: Callable[[], Value], second: Callable[[], Value]) -> Value:
        """One of two values, of which only that one is worked out."""
        then, other, after = self._blocks(3)
        self.build.cbranch(truth, then, other)
        self.build.position_at_end(then)
        one = first()
        then = self.build.block
        self.build.position_at_end(other)
        two = second()
        other = self.build.block
        kind = float if {one.kind, two.kind} == {int, float} else one.kind
        two = self._as(two, kind)
        self.build.branch(after)
        self.build.position_at_end(then)
        one = self._as(one, kind)
        self.build.branch(after)
        self.build.position_at_end(after)
        leaves = []
        for left, right in zip(one.leaves, two.leaves, strict=True):
            leaf = self.build.phi(left.type)
            leaf.add_incoming(left, then)
            leaf.add_incoming(right, other)
            leaves.append(leaf)
        return Value(kind, tuple(leaves))

    def _unaryop(self, node: ast.UnaryOp) -> Value:
        if isinstance(node.op, ast.Not):
            return Value(bool, (self.build.not_(self._truth(node.operand)),))
        value = self._value(node.operand)
        if isinstance(node.op, ast.Invert):
            return Value(int, (self.build.not_(self._as(value, int).leaves[0]),))
        assert isinstance(node.op, ast.USub)
        if value.kind is float:
            return Value(float, (self.build.fneg(value.leaves[0]),))
        return Value(int, (self.build.neg(value.leaves[0]),))

    def _compare(self, node: ast.Compare) -> Value:
        left, truth = self._value(node.left), None
        for how, right_node in zip(node.ops, node.comparators, strict=True):
            right = self._value(right_node)
            holds = self._holds(_SIGNS[type(how)], left, right)
            truth = holds if truth is None else self.build.and_(truth, holds)
            left = right
        return Value(bool, (truth,))

    def _holds(self, sign: str, left: Value, right: Value) -> Any:
        kind = float if float in (left.kind, right.kind) else int
        one, two = self._as(left, kind).leaves[0], self._as(right, kind).leaves[0]
        if kind is int:
            return self.build.icmp_signed(sign, one, two)
        if sign == "!=":
            return self.build.fcmp_unordered(sign, one, two)
        return self.build.fcmp_ordered(sign, one, two)

    def _binop(self, node: ast.BinOp) -> Value:
        if isinstance(node.op, ast.Pow) and ast.literal_eval(node.right) == 2:
            value = self._value(node.left)
            return self._combine(ast.Mult(), value, value)
        return self._combine(node.op, self._value(node.left), self._value(node.right))

    def _combine(self, operator: ast.operator, left: Value, right: Value) -> Value:
        exact = isinstance(operator, ast.Div) or float in (left.kind, right.kind)
        kind = float if exact else int
        one, two = self._as(left, kind).leaves[0], self._as(right, kind).leaves[0]
        if exact:
            return Value(float, (getattr(self.build, _FLOAT_WORDS[type(operator)])(one, two),))
        if isinstance(operator, ast.FloorDiv | ast.Mod):
            return Value(int, (self._floored(isinstance(operator, ast.Mod), one, two),))
        return Value(int, (getattr(self.build, _INT_WORDS[type(operator)])(one, two),))

    def _floored(self, rest: bool, one: Any, two: Any) -> Any:
        """Division as Python has it: the quotient rounded down, the rest of the divisor's sign."""
        build, left = self.build, self.build.srem(one, two)
        signs_differ = build.icmp_signed("<", build.xor(left, two), _INT(0))
        off = build.and_(signs_differ, build.icmp_signed("!=", left, _INT(0)))
        if rest:
            return build.add(left, build.select(off, two, _INT(0)))
        return build.sub(build.sdiv(one, two), build.zext(off, _INT))

    def _call(self, node: ast.Call) -> Value:
        assert isinstance(node.func, ast.Name)
        values = [self._value(part) for part in node.args]
        if node.func.id in ("int", "float"):
            return self._as(values[0], int if node.func.id == "int" else float)
        if node.func.id in ("min", "max"):
            one, two = values
            other = self._holds("<" if node.func.id == "min" else ">", two, one)
            return self._selected(other, two, one)
        if node.func.id == "abs":
            (value,) = values
            size = self.source.module.declare_intrinsic("llvm.fabs", [_FLOAT])
            return Value(float, (self.build.call(size, self._as(value, float).leaves),))
        function = self.source.written(node.func.id)
        pairs = zip(values, function.takes, strict=True)
        leaves = [leaf for value, kind in pairs for leaf in self._as(value, kind).leaves]
        given = self.build.call(function.code, leaves)
        if function.gives is None:
            return Value(Fields(()), ())
        count = len(leaf_types(function.gives))
        if count == 1:
            return Value(function.gives, (given,))
        parts = tuple(self.build.extract_value(given, at) for at in range(count))
        return Value(function.gives, parts)

    def _selected(self, truth: Any, first: Value, second: Value) -> Value:
        kind = float if float in (first.kind, second.kind) else int
        one, two = self._as(first, kind).leaves[0], self._as(second, kind).leaves[0]
        return Value(kind, (self.build.select(truth, one, two),))


_SIGNS: dict[type, str] = {
    ast.Eq: "==", ast.NotEq: "!=", ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=",
}  # fmt: skip
_FLOAT_WORDS: dict[type, str] = {
    ast.Add: "fadd", ast.Sub: "fsub", ast.Mult: "fmul", ast.Div: "fdiv",
}  # fmt: skip
_INT_WORDS: dict[type, str] = {
    ast.Add: "add", ast.Sub: "sub", ast.Mult: "mul", ast.LShift: "shl", ast.RShift: "ashr",
    ast.BitAnd: "and_", ast.BitOr: "or_", ast.BitXor: "xor",
}  # fmt: skip
