"""One row of a block matrix times four right-hand sides, in vector registers.

Left to itself the compiler takes the loop over a row's blocks for the one to vectorise and gathers
four-byte pieces from all over memory. Here the four right-hand sides are the vector: one load
brings a direction of a node for all of them, one number of a block multiplies it. Nine sums, one
for each number of a block, keep the processor from waiting for the last product.
"""

from collections.abc import Callable
from functools import partial
from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.extending import intrinsic

WIDTH = 4


def _typed(_: Any, starts: Any, columns: Any, blocks: Any, x: Any, row: Any, out: Any) -> Any:
    """``row_times(starts, columns, blocks, x, row, out)`` writes row ``row`` of A x into ``out``.

    starts (N + 1,) int64, columns (k,) int32, blocks (k, 3, 3), x (N, 3, 4), out (N, 3, 4), all
    C-contiguous, the last three of one precision; row is an integer.
    """
    arrays = (starts, columns, blocks, x, out)
    if not all(isinstance(a, types.Array) and a.layout == "C" for a in arrays):
        return None
    if not (blocks.dtype == x.dtype == out.dtype and starts.dtype == types.int64):
        return None
    if not isinstance(row, types.Integer):
        return None
    signature = types.void(starts, columns, blocks, x, types.int64, out)
    return signature, _row_times


def _row_times(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
    starts, columns, blocks, x, _, out = (
        context.make_array(kind)(context, builder, value).data
        if isinstance(kind, types.Array)
        else None
        for kind, value in zip(signature.args, arguments, strict=True)
    )
    row = arguments[4]
    real = context.get_value_type(signature.args[3].dtype)
    vector = ir.VectorType(real, WIDTH)
    size = 8 if real == ir.DoubleType() else 4

    def at(base: Any, index: Any, kind: Any = None) -> Any:
        place = builder.gep(base, [index])
        return builder.bitcast(place, kind.as_pointer()) if kind else place

    def number(value: int) -> Any:
        return ir.Constant(ir.IntType(64), value)

    def spread(scalar: Any) -> Any:
        one = builder.insert_element(
            ir.Constant(vector, ir.Undefined), scalar, ir.Constant(ir.IntType(32), 0)
        )
        lanes = ir.Constant(ir.VectorType(ir.IntType(32), WIDTH), [0] * WIDTH)
        return builder.shuffle_vector(one, one, lanes)

    zero = ir.Constant(vector, [0.0] * WIDTH)
    slot = partial(cgutils.alloca_once, builder, vector)
    sums = [[slot() for _ in range(3)] for _ in range(3)]
    first = builder.load(at(starts, row))
    last = builder.load(at(starts, builder.add(row, number(1))))
    for total in (each for line in sums for each in line):
        builder.store(zero, total)
    with cgutils.for_range_slice(builder, first, last, number(1), inc=True) as (k, _):
        node = builder.zext(builder.load(at(columns, k)), ir.IntType(64))
        here = at(x, builder.mul(node, number(3 * WIDTH)))
        block = at(blocks, builder.mul(k, number(9)))
        for d in range(3):
            moved = builder.load(at(here, number(d * WIDTH), vector), align=size)
            for i in range(3):
                factor = spread(builder.load(at(block, number(3 * i + d))))
                product = builder.fmul(factor, moved, flags=("contract",))
                total = builder.load(sums[i][d])
                builder.store(builder.fadd(total, product, flags=("contract",)), sums[i][d])
    target = at(out, builder.mul(row, number(3 * WIDTH)))
    for i in range(3):
        total = builder.load(sums[i][0])
        for d in (1, 2):
            total = builder.fadd(total, builder.load(sums[i][d]))
        builder.store(total, at(target, number(i * WIDTH), vector), align=size)
    return context.get_dummy_value()


row_times: Callable[..., None] = intrinsic(_typed)
