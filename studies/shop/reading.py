"""The shop a study file describes, checked as a whole."""

from studies.paper import paper_for
from studies.reader import Reader
from studies.shop.model import ASSUMED_KERF_MM, Axle, Rates, Shop, Stock, Ubolt
from studies.shop.sizes import NO_BREAK, show_size
from studies.shop.table import (
    AxleTable,
    PlateStock,
    ShopTable,
    StockTable,
    TubeStock,
    UboltTable,
)
from studies.units import OutputUnits


def checked_shop(
    reader: Reader,
    shop: ShopTable,
    axle: AxleTable | None,
    ubolt: UboltTable | None,
    shelf: list[StockTable],
    wall_mm: float,
) -> Shop:
    """Shop, axle, U-bolts and shelf of the study file; ``wall_mm`` is the tube's as bought.

    Raises InputError, naming the key, for sizes that contradict one another.
    """
    if ubolt and axle is None:
        reader.refuse(
            "axle",
            "is missing, and a U-bolt's length cannot be told without it",
            "add a part [axle], as in the file from: gussetry new",
        )
    seat = _axle(reader, axle) if axle else None
    return Shop(
        kerf_mm=ASSUMED_KERF_MM if shop.kerf is None else shop.kerf,
        kerf_given=shop.kerf is not None,
        end_trim_mm=shop.end_trim,
        paper=shop.paper or paper_for("in" if reader.inches else "mm"),
        rates=Rates(
            shop.currency or "",
            shop.tube_price,
            shop.bar_price,
            shop.plate_price,
            shop.saw_time,
            shop.cut_time,
            shop.weld_time,
            shop.labour,
        ),
        wall_mm=wall_mm,
        axle=seat,
        ubolt=_ubolt(reader, ubolt, seat) if ubolt and seat else None,
        shelf=tuple(_stock(reader, number, stock) for number, stock in enumerate(shelf, start=1)),
    )


def _axle(reader: Reader, table: AxleTable) -> Axle:
    if (table.tube_diameter is None) == (table.beam is None):
        missing = table.beam is None
        reader.refuse(
            "axle.tube_diameter",
            "is missing, and so is beam" if missing else "stands beside a beam",
            'give just one: tube_diameter = "60 mm", or beam = ["50 mm", "50 mm"]',
        )
    width, height = table.beam or (table.tube_diameter or 0.0,) * 2
    return Axle(
        table.tube_diameter is not None,
        width,
        height,
        table.spring_seat,
        table.spring_width,
        table.spring_height,
        table.old_block_height,
    )


def _ubolt(reader: Reader, table: UboltTable, axle: Axle) -> Ubolt:
    round_bend = axle.round if table.bend is None else table.bend == "round"
    radius = table.rod if table.bend_radius is None else table.bend_radius
    if round_bend and not axle.round:
        reader.refuse("ubolt.bend", "'round' does not hug a beam", 'write bend = "square"')
    if round_bend and table.bend_radius is not None:
        reader.refuse(
            "ubolt.bend_radius",
            "stands beside a round bend, which takes the axle's own",
            'leave it out, or write bend = "square"',
        )
    if round_bend and axle.spring_width_mm > axle.width_mm:
        reader.refuse(
            "ubolt.bend",
            f"'round' on an axle {_mm(axle.width_mm)} across sets the legs that far apart, and a "
            f"spring {_mm(axle.spring_width_mm)} wide does not pass between them",
            'write bend = "square", or check axle.spring_width',
        )
    if not round_bend and 2.0 * radius > max(axle.width_mm, axle.spring_width_mm):
        reader.refuse(
            "ubolt.bend_radius",
            f"{_mm(radius)} leaves no flat between the two bends",
            f"use at most {_mm(max(axle.width_mm, axle.spring_width_mm) / 2.0)}",
        )
    if table.nut > 2.0 * table.rod:
        reader.refuse(
            "ubolt.nut",
            f"a nut {_mm(table.nut)} high does not suit a rod of {_mm(table.rod)}",
            f"give the height of the nut alone, at most {_mm(2.0 * table.rod)}",
        )
    return Ubolt(
        table.rod,
        tuple(table.plates),
        table.washer,
        table.nut,
        table.thread_past_nut,
        round_bend,
        radius,
    )


def _stock(reader: Reader, number: int, table: StockTable) -> Stock:
    units = OutputUnits(length="in" if reader.inches else "mm")
    if isinstance(table, TubeStock):
        if 2.0 * table.wall >= min(table.size):
            reader.refuse(
                f"shelf[{table.name!r}].wall" if table.name else f"shelf[{number}].wall",
                f"a wall of {_mm(table.wall)} leaves no bore in a tube {_mm(min(table.size))} wide",
                f"use less than {_mm(min(table.size) / 2.0)}",
            )
        section: tuple[float, ...] = (*sorted(table.size, reverse=True), table.wall)
        size = (table.length, 0.0)
        words = f"tube {show_size(section, units)}, {show_size((table.length,), units)} long"
    elif isinstance(table, PlateStock):
        section, size = (table.thickness,), (max(table.size), min(table.size))
        words = f"plate {show_size((*size, table.thickness), units)}"
    else:
        section, size = (table.diameter,), (table.length, 0.0)
        words = f"round bar ⌀ {show_size(section, units)}, {show_size((table.length,), units)} long"
    words = words.replace(NO_BREAK, " ")
    name = f"{table.name} ({words})" if table.name else words
    return Stock(name, table.kind, section, size, table.quantity, table.steel)


def _mm(value: float) -> str:
    return f"{value:.4g} mm"
