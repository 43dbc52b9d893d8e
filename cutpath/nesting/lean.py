# ruff: noqa: ANN401 - what numba hands over has no types
# mypy: disable-error-code="attr-defined, method-assign, misc, no-untyped-call, override, untyped-decorator"
# Reason: numba types neither its dispatchers nor its compiler.
"""What numba is told beyond its plain decorator, so that the search compiles in seconds and calls cost little.

Five things took most of the time when every function was compiled by ``numba.njit``.

* Arrays in a named tuple went into every call one by one, each with its seven numbers: 300 arguments for a move. A
  value that `by_address` marks is handed on as the address of its arrays instead. It is laid down once, where Python
  calls in, and never changes during that call.
* Each function was optimised and turned into machine code by itself, together with all that it calls, and then once
  more in each caller. `Inner` functions are optimised in the functions that Python calls, and there alone.
* A plain number as an argument had its callee compiled once more for that number. `Inner` forgets the number.
* What a builtin such as + gives was worked out anew at each of its places, from all that numba knows of it. It is
  remembered for the types of the arguments while a function compiles.
* Each index was looked at for whether it counts from the end, which none does here: it took a fifteenth of the search.
  They are taken as they are.

Only what is stated here of numba's inside is relied on: its passes by their names, how it links libraries, and where it
looks at an index; where a later numba does that elsewhere, it does so again.
"""

from __future__ import annotations

import gc
import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NoReturn, TypeVar, cast

from numba import _dynfunc
from numba.core import cgutils, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler, DefaultPassBuilder
from numba.core.compiler_lock import global_compiler_lock
from numba.core.compiler_machinery import register_pass
from numba.core.datamodel import models, register_default
from numba.core.imputils import impl_ret_borrowed, lower_getattr_generic
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import NativeLowering
from numba.core.types.functions import BaseFunction
from numba.core.typing.templates import AttributeTemplate
from numba.core.typing.typeof import typeof_impl
from numba.extending import NativeValue, infer_getattr, intrinsic, unbox
from numba.np import arrayobj

C = TypeVar("C", bound=type)


class Address(types.Type):
    """Type of a named tuple of arrays that compiled code knows by its address."""

    def __init__(self, held: types.NamedTuple) -> None:
        self.held = held
        digest = hashlib.sha256(str(held).encode()).hexdigest()
        super().__init__(f"{held.instance_class.__name__}_{digest[:8]}")

    @property
    def key(self) -> types.NamedTuple:
        """What two types must share to be one."""
        return self.held


@register_default(Address)
class _AddressModel(models.PrimitiveModel):
    def __init__(self, manager: Any, address: Address) -> None:
        super().__init__(manager, address, manager[address.held].get_value_type().as_pointer())


@unbox(Address)
def _lay_down(address: Address, value: Any, c: Any) -> NativeValue:
    native = c.unbox(address.held, value)
    return NativeValue(cgutils.alloca_once_value(c.builder, native.value), native.is_error, native.cleanup)


@infer_getattr
class _AddressAttributes(AttributeTemplate):
    key = Address

    def generic_resolve(self, address: Address, name: str) -> types.Type | None:
        held = address.held
        return held.types[held.fields.index(name)] if name in held.fields else None


@lower_getattr_generic(Address)
def _array_of(context: Any, builder: Any, address: Address, value: Any, name: str) -> Any:
    index = address.held.fields.index(name)
    array = builder.load(cgutils.gep_inbounds(builder, value, 0, index))
    return impl_ret_borrowed(context, builder, address.held.types[index], array)


def by_address(tuple_class: C) -> C:
    """Have compiled code know a named tuple of arrays by its address; it can read it, not make one."""

    @typeof_impl.register(tuple_class)
    def _typeof(value: tuple[Any, ...], context: Any) -> Address:
        return Address(types.NamedTuple([typeof_impl(array, context) for array in value], tuple_class))

    return tuple_class


def _ahead(_context: Any, array: types.Array, index: types.Integer) -> tuple[Any, Callable[..., Any]]:
    """Have the processor fetch what stands in a flat array at an index, while other things are done."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        held = context.make_array(signature.args[0])(context, builder, args[0])
        address = builder.bitcast(builder.gep(held.data, [args[1]]), cgutils.voidptr_t)
        whole = cgutils.int32_t
        kind = cgutils.ir.FunctionType(cgutils.ir.VoidType(), [address.type, whole, whole, whole])
        fetch = cgutils.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        builder.call(fetch, [address, whole(0), whole(3), whole(1)])  # to read, to be kept near, data
        return context.get_dummy_value()

    return types.void(array, index), code


ahead = cast("Callable[[Any, int], None]", intrinsic(_ahead))


class Outer(CPUDispatcher):
    """A compiled function that Python calls."""

    def compile(self, signature: Any) -> Any:
        """Compile, or fetch what was kept, for the types of a call."""
        with (
            global_compiler_lock,  # nobody else compiles meanwhile
            _nothing_collected(),
            _instead(BaseFunction, "get_call_type", _remembering()),
            _instead(arrayobj, "fix_integer_index", _as_it_is),
        ):
            entry = super().compile(signature)
        for found in self.overloads.values():
            for environment in found._find_referenced_environments():  # noqa: SLF001 - as numba does on reading
                found.library.codegen.set_env(environment.env_name, environment)
        return entry


class Inner(CPUDispatcher):
    """A function that compiled code alone calls."""

    def __init__(self, function: Callable[..., Any], **how: Any) -> None:
        super().__init__(function, pipeline_class=_InnerCompiler, **how)

    def __call__(self, *_given: object, **_named: object) -> NoReturn:
        """Refuse: there is no machine code to call.

        Raises
        ------
        TypeError
            Always.
        """
        raise TypeError(f"{self.py_func.__name__} is called from compiled code alone")

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """Return how it is called with arguments of these types, none of them a number of its own type."""
        plain = {name: types.unliteral(kind) for name, kind in kws.items()}
        return super().get_call_template(tuple(types.unliteral(kind) for kind in args), plain)


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """Keep Python from looking for garbage meanwhile: a fifth of the time, while nearly all is in use."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def _instead(owner: Any, name: str, other: Callable[..., Any]) -> Iterator[None]:
    """Have ``other`` in the place of what numba has by that name; what a later one has elsewhere is left to it."""
    usual = getattr(owner, name, None)
    if usual is None:
        yield
        return
    setattr(owner, name, other)
    try:
        yield
    finally:
        setattr(owner, name, usual)


def _remembering() -> Callable[..., Any]:
    """Return what tells the result of a builtin, and asks numba once for arguments of the same types.

    What is compiled together is compiled in the same way (`compiled._HOW`).
    """
    asked = BaseFunction.get_call_type
    known: dict[Any, Any] = {}

    def remembered(self: Any, context: Any, args: Any, kws: Any) -> Any:
        key = self, tuple(args), tuple(dict(kws).items())
        if key not in known:
            known[key] = asked(self, context, args, kws)
        return known[key]

    return remembered


def _as_it_is(context: Any, builder: Any, kind: types.Integer, index: Any, _size: Any) -> Any:
    """Lay down an index of an array, which may not be below 0."""
    return context.cast(builder, index, kind, types.intp if kind.signed else types.uintp)


class _InnerLibrary(JITCodeLibrary):
    """Code as it was lowered, for others to link in; it is neither optimised nor turned into machine code."""

    def get_pointer_to_function(self, _name: str) -> int:
        self._ensure_finalized()
        return 0

    def _optimize_final_module(self) -> None:
        pass

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True


@register_pass(mutates_CFG=True, analysis_only=False)
class _InnerLowering(NativeLowering):
    _name = "inner_lowering"

    def run_pass(self, state: Any) -> bool:
        state.library = _InnerLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        state.flags.no_compile = True
        super().run_pass(state)
        lowered = state["cr"]
        # numba knows a function by what it would call.
        name, kept = lowered.fndesc.qualname.rpartition(".")[2], (state.library,)
        known_by = _dynfunc.make_function(lowered.fndesc.lookup_module(), name, name, 0, lowered.env, kept)
        state.targetctx.insert_user_function(known_by, lowered.fndesc, [state.library])
        state["cr"] = lowered._replace(cfunc=known_by)
        return True


class _InnerCompiler(Compiler):
    def define_pipelines(self) -> list[DefaultPassBuilder]:
        passes = DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.passes = [(_InnerLowering if each is NativeLowering else each, what) for each, what in passes.passes]
        passes.finalize()
        return [passes]
