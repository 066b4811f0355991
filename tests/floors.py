"""Small invented floors with test holes: a rectangle of stone under a slab, drawn on in one corner or in two."""

from __future__ import annotations

from collections.abc import Sequence

from tests.jobs import open_run, record
from workbench.design import Design, GroundClass, Junction, Leg, Resistance, SuctionPoint
from workbench.design.slab import Edge, HoleReading, Position, Slab, TestHole

FAN = record([0.0, 0.02, 0.05, 0.1], [420.0, 380.0, 240.0, 0.0], [30.0, 45.0, 60.0, 70.0], least_speed=0.2)
PIT = 0.028
OUTLINE = tuple(Position(x=x, y=y) for x, y in ((0.0, 0.0), (9.0, 0.0), (9.0, 6.0), (0.0, 6.0)))
PLACES = {"Near": (3.0, 1.5), "Middle": (5.0, 3.5), "Far": (8.4, 5.4)}


def point(name: str = "Pit", at: tuple[float, float] | None = (1.0, 1.0), ground: object = None) -> SuctionPoint:
    """A suction point whose pit is the one its ground was measured with."""
    known = ground or Resistance(linear=6000.0, tested_volume=PIT)
    where = None if at is None else Position(x=at[0], y=at[1])
    return SuctionPoint(name=name, pit_volume=PIT, ground=known, position=where)  # type: ignore[arg-type]


def untested(name: str = "Pit", at: tuple[float, float] = (1.0, 1.0)) -> SuctionPoint:
    """A point of which only the class of its ground is known, so that the drawn floor decides its resistance."""
    return point(name, at, GroundClass(kind="sand and gravel"))


def hole(name: str, *readings: HoleReading, at: tuple[float, float] | None = None, **fields: object) -> TestHole:
    """A test hole, on the plan where a place is given."""
    where = None if at is None else Position(x=at[0], y=at[1])
    return TestHole(name=name, position=where, readings=readings, **fields)  # type: ignore[arg-type]


def read(suction: float, *, flow: float | None = 0.02, applied: float = 120.0, **fields: object) -> HoleReading:
    """A reading while the pit was drawn on."""
    return HoleReading(**({"point": "Pit", "applied": applied, "flow": flow, "suction": suction} | fields))  # type: ignore[arg-type]


def slab(**fields: object) -> Slab:
    """Nine metres by six; one long side has a joint."""
    edges = (Edge(), Edge(), Edge(kind="joint", joint_width=0.0005), Edge())
    given = {"outline": OUTLINE, "fill": "fine gravel or crushed stone with fines", "edges": edges, "cell": 0.2}
    return Slab(**(given | fields))  # type: ignore[arg-type]


def job(holes: Sequence[TestHole], *points: SuctionPoint, floor: Slab | None = None, **fields: object) -> Design:
    """One fan on one point, or on two that join, without losses in the pipe."""
    first, *more = points or (point(),)
    intake = Leg(source=first, runs=(open_run("In"),))
    for i, other in enumerate(more):
        side = Leg(source=other, runs=(open_run(f"From {other.name}"),))
        intake = Leg(
            source=Junction(straight=intake, side=side), runs=(open_run("Together" if i == 0 else f"Together {i + 1}"),)
        )
    given = {
        "intake": intake,
        "discharge": (open_run("Out"),),
        "fans": (FAN,),
        "fan": FAN.name,
        "holes": tuple(holes),
        "slab": floor,
    }
    return Design(**(given | fields))  # type: ignore[arg-type]


def three(near: float = 60.0, middle: float = 20.0, far: float = 8.0) -> tuple[TestHole, ...]:
    """A hole near the point, one midway and one far off, each read once."""
    values = (near, middle, far)
    return tuple(hole(name, read(value), at=at) for (name, at), value in zip(PLACES.items(), values, strict=True))


def unplaced(holes: Sequence[TestHole]) -> tuple[TestHole, ...]:
    """The same holes on no plan."""
    return tuple(hole.model_copy(update={"position": None}) for hole in holes)
