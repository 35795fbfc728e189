"""From measurements to airplanes that fly: derivatives, the plane record, many drawn from the doubt."""

from __future__ import annotations

from sixdof.airframe.load import load_airframe
from sixdof.estimate import assemble
from sixdof.estimate.assemble import from_geometry
from sixdof.flight.airplane import Airplane
from tests.benchmarks.table import Row, best

AIRPLANE, DRAWN = "corvane", 200


def measure_estimate() -> list[Row]:
    """Everything warm: kernels loaded, the file read."""
    airframe = load_airframe(AIRPLANE)
    known = from_geometry(airframe)
    _ = Airplane(airframe, known=known).planes
    unstable = Airplane(airframe, known=known).drawn(DRAWN).unstable

    def afresh() -> None:
        assemble._fitted.cache_clear()
        from_geometry(airframe)

    return [
        Row("derivatives from geometry", best(afresh, 7), "s", "<= 0.5", "one thread"),
        Row("pack: plane record, trimmed", 1e3 * best(lambda: Airplane(airframe, known=known).planes, 7), "ms"),
        Row(f"{DRAWN} airplanes drawn and trimmed", best(lambda: Airplane(airframe, known=known).drawn(DRAWN), 3), "s", "",
            f"{100.0 * unstable:.0f} % of all drawn were unstable"),
    ]  # fmt: skip
