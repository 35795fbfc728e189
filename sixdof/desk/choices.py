"""Pictures in which one chooses: a ratio over its range, a change of the airframe in steps."""

from __future__ import annotations

import math
from collections.abc import Mapping

from sixdof.airframe.blends import amount_words
from sixdof.airframe.changes import change_text, find_change
from sixdof.desk.replay import asked_file
from sixdof.desk.said import Ask
from sixdof.files.units import to_unit
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import make_blends, read_ratio
from sixdof.show.charts import Course, setting_chart, steps_chart
from sixdof.show.palette import shade
from sixdof.study.ask import explore, remedies
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.found import SEEN
from sixdof.tuning.remedies import CONSTANT_UNIT, Variant, steps_over

__all__ = ["ratio_over_range", "steps_of_change"]

_SETTINGS = 21


def ratio_over_range(
    airplane: Airplane, ask: Ask, name: str, most: float, beside: Mapping[str, float]
) -> list[str]:
    """What drifts over a range of one ratio, others beside it as they are, a drawing a side; its points are the settings [%].

    Raises
    ------
    InputError
    """
    ratio = read_ratio(name)
    others = {read_ratio(other): percent / 100.0 for other, percent in beside.items() if other != name}
    answer = explore(
        airplane,
        asked_file(airplane, ask),
        f"{name}={-most:g}..{most:g}",
        blends=make_blends(list(others), list(others.values())),
        count=_SETTINGS,
        wind=ask.wind or None,
    )
    charts = []
    for side in dict.fromkeys(s.side for s in answer.settings):
        mine = [s for s in answer.settings if s.side == side]
        names = [
            f"{amount_words(ratio.target, s.percent / 100.0)}: {abs(s.drift):.1f}° {s.words}" for s in mine
        ]
        charts.append(
            setting_chart(
                [s.percent for s in mine],
                [s.drift if s.scored else math.nan for s in mine],
                [shade(0.5 + 0.5 * s.percent / most) for s in mine],
                TERM_WORDS[mine[0].term],
                f"{ratio.words}: {ratio.target}, what drifts over its range",
                names,
            )
        )
    return charts


def steps_of_change(airplane: Airplane, name: str) -> str:
    """What each size of a change leaves of the knife-edge's constant part and of the dive; points are "maneuver|change".

    Raises
    ------
    InputError
    """
    change = find_change(name)
    amounts = [amounts[name] for amounts in steps_over(name, airplane)]
    now, *steps = remedies(airplane, over=name).remedies
    rows = sorted([(0.0, now), *zip(amounts, steps, strict=True)], key=lambda row: row[0])
    texts = [change_text(name, amount) if amount else "" for amount, _ in rows]

    def course(maneuver: str, word: str, ways: tuple[str, str], values: list[float], unit: str, seen: float) -> Course:  # fmt: skip
        names = [_told(row, v, f"{abs(v):.1f}{unit} {ways[v > 0.0]}") for (_, row), v in zip(rows, values, strict=True)]  # fmt: skip
        return Course(word, ways, values, seen, [f"{maneuver}|{text}" for text in texts], names)

    edge = [row.constant for _, row in rows]
    dive = [row.dive for _, row in rows]
    return steps_chart(
        [to_unit(amount, change.unit, change.kind) for amount, _ in rows],
        "°" if change.kind == "angle" else change.unit,
        change.ways[::-1],
        [
            course("knife_edge", "knife-edge needs", ("down", "up"), edge, " %", CONSTANT_UNIT),
            course("power_off_dive", "dive", TERM_WORDS["canopy"], dive, "°", SEEN),
        ],
        f"{name}: what each size leaves of the constant part of the knife-edge elevator [%] and of the dive [°]",
    )


def _told(row: Variant, value: float, said: str) -> str:
    why = row.trouble or "not flown to its end"
    return f"{row.words}: {said if math.isfinite(value) else why}"
