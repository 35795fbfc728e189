"""What notes of flights tell of an airplane, and its logbook."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from sixdof.airframe.blends import amount_words
from sixdof.files.errors import InputError, shown
from sixdof.files.rows import Remark
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_ratio
from sixdof.flight.layer import Layer, Recorded
from sixdof.flight.needs import DIVE, NEEDS, RATIOS
from sixdof.flight.pack import static_margin
from sixdof.learning.crowd import Prior, prior_of
from sixdof.learning.identify import LogTold, combined
from sixdof.learning.learn import SEEN, Learned, Step, best_ratios, drifts, layer_of, next_notes, told_needs
from sixdof.learning.learn import learn as take_in
from sixdof.learning.notes import Notes, read_notes
from sixdof.learning.surprise import LEAST
from sixdof.learning.told import words_of
from sixdof.learning.update import Posterior, update
from sixdof.study.ask import answer_about
from sixdof.study.results import (
    LearnedRatio,
    LearnResult,
    LogResult,
    NextNote,
    NotedFlight,
    RecordedFlight,
    ToldByLogs,
)

__all__ = ["learn", "log", "of_logs"]

Progress = Callable[[float, str], None]
#: Range that holds eight in ten.
_LOW, _HIGH = 0.1, 0.9
#: Airplanes drawn to tell what logs told; what they are asked: name, unit, from records.
_DRAWN = 400
_QUANTITIES: tuple[tuple[str, str, Callable[[np.ndarray], np.ndarray]], ...] = (
    ("static margin", "% of the chord", lambda planes: 100.0 * static_margin(planes)),
    ("roll by full aileron", "°/s", lambda planes: np.degrees(planes["roll_rate"])),
    ("turn of the path by full elevator", "°/s", lambda planes: np.degrees(planes["canopy_rate"])),
    ("turn of the path by full rudder", "°/s", lambda planes: np.degrees(planes["wing_rate"])),
    ("rudder that holds knife-edge, right", "%", lambda planes: 100.0 * planes["knife_rudder_right"]),
    ("rudder that holds knife-edge, left", "%", lambda planes: -100.0 * planes["knife_rudder_left"]),
    ("elevator inverted, + up", "%", lambda planes: 100.0 * planes["inverted_elevator"]),
)
#: Of the speed that ratios are learned for, beyond which a timed pass is said to be another one; common practice, no source.
_OTHER = 0.1
#: Kept out of reach of any note.
_DIRECTION = (
    "notes do not replace the direction check before every flight: a ratio with its sign turned in the radio looks like "
    "another airplane"
)


def _quiet(share: float, text: str) -> None:
    """Progress that nobody watches."""


def learn(
    airplane: Airplane,
    notes: Sequence[str | Notes],
    *,
    without: Sequence[int] = (),
    prior: Prior | None = None,
    logs: Sequence[LogTold] = (),
    log_prior: Prior | None = None,
    step: float = 0.005,
    progress: Progress = _quiet,
) -> LearnResult:
    """Take in notes of flights: which ratios they ask for, how sure that is, which note to take next.

    Parameters
    ----------
    airplane : Airplane
        As filed; what it was learned from before does not count.
    notes : sequence of str or Notes
        Files of notes, all there are of this airplane.
    without : sequence of int
        Numbers of flights to leave out: what would be known without them.
    prior : Prior, optional
        Of this airplane, from an earlier answer; else some 1500 airplanes are drawn and flown.
    logs : sequence of LogTold
        What logs of some of these flights told beside.
    log_prior : Prior, optional
        As ``prior``, of the airplane as its logs tell it.
    step : float
        Step of the radio's ratios, a share.
    progress : callable

    Returns
    -------
    LearnResult
        ``layer`` is what :meth:`Airplane.learned` takes; None where no flight is believed.

    Raises
    ------
    InputError
        Something is wrong in a file of notes, a flight stands in two of them, or the airplane does not hold knife-edge.
    """
    filed = airplane.as_filed.unlearned
    files = [read_notes(one, filed.airframe) if isinstance(one, str) else one for one in notes]
    _once_each(files, without)
    if prior is None:
        progress(0.1, "airplanes drawn and flown")
        prior = _prior(filed)
    logs = [one for one in logs if one.flight not in without]
    recorded, told_by_logs = combined([one.recorded for one in logs]), []
    known, flown = prior, filed
    if recorded is not None:
        flown = filed.learned(of_logs(filed, recorded, prior.share))
        if log_prior is None or without:
            progress(0.5, "airplanes drawn and flown as the logs tell")
            log_prior = _prior(flown)
        known, told_by_logs = log_prior, _told_by_logs(filed, flown)
    progress(0.8, "notes")
    learned = take_in(known, files, without=without)
    if recorded is not None:
        learned = learned._replace(before=update(prior, [], helpers=len(learned.helpers)))
    texts = {file.name: file.document.text for file in files}
    ratios = _ratios(learned, step, by_log=recorded is not None)
    chosen = np.array([row.percent for row in ratios]) / 100.0
    layer = layer_of(known, learned, filed.airframe.sha256, texts, recorded)
    flights = [_flight(row, files, step) for row in learned.steps]
    surprises = list(_surprises(learned))
    remarks = [Remark(kind="learned", about="notes", text=text) for text in surprises]
    remarks += [
        Remark(kind="speed", about="notes", text=text) for text in _at_other_speeds(learned, filed, prior)
    ]
    remarks += [Remark(kind="file", about="notes", text=text) for text in _at_other_rates(files, filed)]
    scales = np.quantile(1.0 / learned.now.scale, [_LOW, 0.5, _HIGH], axis=0).T
    about = answer_about(filed, remarks, [])
    about["inputs"] |= {f"notes/{name}": text for name, text in texts.items()}
    about["cautions"] = [_DIRECTION, *about["cautions"]]
    return LearnResult(
        **about,
        without=list(without),
        ratios=ratios,
        flights=flights,
        surprises=surprises,
        contradictions=[text for row in learned.steps for text in row.told.against],
        cannot_tell=list(_cannot_tell(learned, logs)),
        rigging=list(_of_rigging(learned)),
        kept=list(dict.fromkeys(text for row in learned.steps for text in row.told.kept)),
        next_notes=[
            NextNote(words=one.words, now_degrees=one.now, left_degrees=one.left)
            for one in next_notes(learned.now, chosen)
        ],
        served_before_percent=_served(learned.now, [row.before_percent / 100.0 for row in ratios]),
        served_percent=_served(learned.now, chosen),
        scale={name: tuple(row.tolist()) for name, row in zip(learned.helpers, scales, strict=True)},
        logs=[_log_row(one) for one in logs],
        told_by_logs=told_by_logs,
        prior=prior,
        log_prior=log_prior if logs else None,
        layer=layer,
    )


def log(airplane: Airplane, learned: LearnResult) -> LogResult:
    """The logbook: flight by flight what was set, seen, learned.

    Parameters
    ----------
    airplane : Airplane
    learned : LearnResult
        Of all its notes.
    """
    about = answer_about(airplane, [], [])
    return LogResult(**about, flights=learned.flights, ratios=learned.ratios)


def _prior(airplane: Airplane) -> Prior:
    try:
        return prior_of(airplane)
    except ValueError as error:
        raise InputError(f"{airplane.airframe.name}: {error}: nothing can be learned of its ratios") from None


def of_logs(airplane: Airplane, recorded: Recorded, share: float) -> Layer:
    """What logs tell, before any note."""
    nothing = np.zeros((1, 0))
    return Layer(
        airplane.airframe.sha256, share, (), nothing[0], nothing, airplane.errors, np.zeros((len(airplane.errors), 0)), 0, {}, recorded
    )  # fmt: skip


def _log_row(one: LogTold) -> RecordedFlight:
    return RecordedFlight(
        flight=one.flight, log=one.log, stretches=one.stretches, aside_seconds=one.aside, gusts_m_s=one.gusts
    )


def _told_by_logs(before: Airplane, now: Airplane) -> list[ToldByLogs]:
    """What an airplane does with its sticks, as it was estimated and as its logs tell it."""
    first, last = (airplane.drawn(_DRAWN).planes for airplane in (before, now))
    rows = []
    for name, unit, value in _QUANTITIES:
        a, b = value(first), value(last)
        rows.append(
            ToldByLogs(
                name=name, unit=unit, before=float(np.mean(a)), before_sigma=float(np.std(a)), now=float(np.mean(b)),
                now_sigma=float(np.std(b)),
            )
        )  # fmt: skip
    return rows


def _once_each(files: Sequence[Notes], without: Sequence[int]) -> None:
    """Every flight in one file, and those to leave out among them."""
    home: dict[int, str] = {}
    for file in files:
        for i, flight in enumerate(file.flights):
            if flight.flight in home:
                text = f"flight {flight.flight} stands in {home[flight.flight]} already; give each its own number"
                raise file.document.error(("flights", i, "flight"), text)
            home[flight.flight] = file.name
    for number in without:
        if number not in home:
            raise InputError(
                f"--without {number}: there is no such flight; there are {', '.join(map(str, sorted(home))) or 'none'}"
            )


def _ratios(learned: Learned, step: float, *, by_log: bool = False) -> list[LearnedRatio]:
    before, now = (_in_steps(best_ratios(p.airplanes), step) for p in (learned.before, learned.now))
    needed = [p.airplanes.ratios for p in (learned.before, learned.now)]
    ends = [100.0 * np.quantile(r, [_LOW, _HIGH], axis=0) for r in needed]
    told = list(RATIOS) if by_log else _told(learned)
    rows = []
    for i, name in enumerate(RATIOS):
        ratio, wrong = read_ratio(name), needed[1][:, i] * now[i] < 0.0
        rows.append(
            LearnedRatio(
                source=ratio.source, target=ratio.target, side=ratio.side, told=name in told,
                before_percent=100.0 * float(before[i]), before_low_percent=ends[0][0, i], before_high_percent=ends[0][1, i],
                percent=100.0 * float(now[i]), low_percent=ends[1][0, i], high_percent=ends[1][1, i],
                other_sign_percent=100.0 * float(np.mean(wrong)) if now[i] else math.nan,
            )
        )  # fmt: skip
    return rows


def _told(learned: Learned) -> list[str]:
    """Ratios that notes speak of."""
    told = told_needs(learned.believed)
    return [name for name, need in zip(RATIOS, NEEDS, strict=False) if need in told]


def _in_steps(amounts: np.ndarray, step: float) -> np.ndarray:
    return step * np.round(amounts / step) if step > 0.0 else amounts


def _served(posterior: Posterior, ratios: Sequence[float] | np.ndarray) -> float:
    """Chance that no knife-edge drifts more than anyone sees [%]."""
    edges = drifts(posterior.airplanes, np.asarray(ratios))[:, : len(RATIOS) - 1]
    return 100.0 * float(np.mean(np.abs(edges).max(axis=1) < SEEN))


def _flight(step: Step, files: Sequence[Notes], radio: float) -> NotedFlight:
    flight = step.told.flight
    file = next(file for file in files if file.name == step.told.file)
    data = file.document.data["flights"][[one.flight for one in file.flights].index(flight.flight)]
    force = [
        f"{read_ratio(name).words} {read_ratio(name).target} {amount_words(read_ratio(name).target, amount)}"
        for name, amount in flight.in_force.items()
    ]
    low, high = 100.0 * np.quantile(step.posterior.airplanes.ratios, [_LOW, _HIGH], axis=0)
    best = _in_steps(best_ratios(step.posterior.airplanes), radio)

    def of_each(values: np.ndarray) -> dict[str, float]:
        return dict(zip(RATIOS, values.tolist(), strict=True))

    return NotedFlight(
        flight=flight.flight, file=step.told.file, date=flight.date,
        set_to=", ".join(force) or ("bare" if flight.switch == "on" or not flight.blends else "switch off"),
        seen=words_of(data), believed=step.believed, again=step.again,
        fits_percent=math.nan if step.surprise is None else 100.0 * step.surprise.chance,
        most_surprising="" if step.surprise is None else step.surprise.about,
        within_percent=of_each(0.5 * (high - low)), low_percent=of_each(low), high_percent=of_each(high),
        percent=of_each(100.0 * best), set_percent={name: 100.0 * amount for name, amount in flight.in_force.items()},
        served_percent=_served(step.posterior, best),
    )  # fmt: skip


def _surprises(learned: Learned) -> Iterator[str]:
    """Flights that are not believed, and those that bore one out."""
    for step in learned.steps:
        if step.surprise is None:
            continue
        number = step.told.flight.flight
        if not step.believed:
            yield (
                f"flight {number}: these words fit fewer than 1 in {1.0 / LEAST:.0f} airplanes; most surprising: "
                f"{step.surprise.about}; check side, switch, direction, and fly it again: the ratios are not moved"
            )
        elif step.surprise.chance < LEAST:
            how = "flown again and seen again" if step.again else "borne out by a later flight"
            yield f"flight {number}: surprising ({step.surprise.about}), but {how}: believed"


def _of_rigging(learned: Learned) -> Iterator[str]:
    """What was noted of tests that tell next to nothing of a ratio: less than 4 % of its range (computed for the demos)."""
    for step in learned.steps:
        seen = dict.fromkeys(saw.name.replace("roll right", "three rolls") for saw in step.told.tests)
        seen.pop("roll left", None)
        if seen:
            yield f"flight {step.told.flight.flight}: {', '.join(seen)}"


def _at_other_speeds(learned: Learned, filed: Airplane, prior: Prior) -> Iterator[str]:
    """Flights whose timed passes say that they were flown at another speed than ratios are learned for."""
    speed = prior.share * filed.airframe.speeds.cruise
    for step in learned.steps:
        timed = step.told.flight.timed_pass
        if timed is not None and abs(timed / speed - 1.0) > _OTHER:
            yield (
                f"flight {step.told.flight.flight}: the timed pass was flown at {timed:.3g} m/s, ratios are learned for knife-edge "
                f"at {speed:.3g} m/s: what was noted faster or slower is taken for it all the same; fly the next one there"
            )


def _at_other_rates(files: Sequence[Notes], filed: Airplane) -> Iterator[str]:
    first = filed.airframe.default_rate
    for file in files:
        rate = file.document.data.get("rate", first)
        if rate != first:
            yield f"{file.name}: flown at rate {shown(rate)}; shares of throw are turned into those of {first} by the throws of both"


def _cannot_tell(learned: Learned, logs: Sequence[LogTold]) -> Iterator[str]:
    """What is left open whatever was noted."""
    if logs:
        yield "which single derivative is off: a log narrows what they do together"
        yield "what happens with another CG, or where the model's form is wrong: fly the ratios and note it"
        return
    told = _told(learned)
    missing = [read_ratio(name).words for name in RATIOS if name not in told]
    if missing:
        yield f"{' and '.join(dict.fromkeys(missing))} by itself: no note yet; what moved there moved with the others"
    if DIVE in told and not any(
        getattr(one, "axis", "") == "dive" for step in learned.believed for one in step.told.seen
    ):
        yield "the dive by itself: it was not flown, its ratio follows from the push or the line inverted alone"
    yield "which single derivative is off: ratios are learned, and many airplanes need the same ones"
    yield "what happens at other speeds, or with another CG: fly and note it there"
