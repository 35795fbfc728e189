"""What notes tell: words as chances, Bayes against closed forms, what is surprising, what contradicts itself."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from sixdof import Airplane
from sixdof.files.errors import InputError
from sixdof.flight.needs import NEEDS, RATIOS, needs
from sixdof.learning import update as updating
from sixdof.learning.crowd import Prior, X, line_decay, prior_of
from sixdof.learning.learn import Learned, best_ratios, drifts, layer_of, learn, next_notes
from sixdof.learning.notes import Notes, notes_from
from sixdof.learning.scale import EDGES, HELPER, JUDGMENT, SIZES, chances
from sixdof.learning.seen import Gauge, Word, airplanes
from sixdof.learning.told import canopy_of, tell
from sixdof.learning.update import update
from sixdof.tuning.sequence import size_words

HEAD = "sixdof_notes: 1\naircraft: corvane\nflights:\n"
FIRST = """  - flight: 1
    wind: 2 m/s
    blends: none
    passes:
      - {maneuver: knife-edge, rudder: right, pitch: moderate to belly, roll: strong left,
         held_elevator: 2.5 % up, held_aileron: 2 % right, rudder_share: 45 %}
      - {maneuver: knife-edge, rudder: left, pitch: slight to belly, roll: strong right,
         held_elevator: 1.5 % up, held_aileron: 2 % left, rudder_share: 48 %}
      - {maneuver: dive, pitch: slight to canopy}
"""


@pytest.fixture(scope="module")
def corvane() -> Airplane:
    return Airplane("corvane")


@pytest.fixture(scope="module")
def prior(corvane: Airplane) -> Prior:
    return prior_of(corvane, airplanes=400)


def notes(airplane: Airplane, text: str, name: str = "mine.yaml") -> Notes:
    return notes_from(Path(name), text.encode(), airplane.airframe)


def learned(airplane: Airplane, prior: Prior, *flights: str) -> Learned:
    return learn(prior, [notes(airplane, HEAD + "".join(flights))])


# ---------------------------------------------------------------- words


def phi(x: float) -> float:
    """Normal distribution by the error function, 7.1.22 of Abramowitz and Stegun (from memory)."""
    return 0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))


@pytest.mark.parametrize(
    ("rate", "f", "noise"), [(0.0, 1.0, 0.5), (2.0, 1.4, 0.6), (-8.0, 0.7, 0.9), (40.0, 1.0, 0.5)]
)
def test_chances_of_words_are_those_of_a_normal_reading_that_slips(
    rate: float, f: float, noise: float
) -> None:
    s = math.hypot(f * noise, JUDGMENT * f * rate)
    ends = [phi((end - f * rate) / s) for end in (-12, -6, -3, -1, -0.3, 0.3, 1, 3, 6, 12)]
    meant = [high - low for low, high in zip([0.0, *ends], [*ends, 1.0], strict=True)]
    expected = []
    for i, own in enumerate(meant):
        near = [meant[j] for j in (i - 1, i + 1) if 0 <= j < len(meant)]
        missing = own * (2 - len(near))  # an end word keeps the slip that has no word
        expected.append(0.88 * own + 0.05 * (sum(near) + missing) + 0.02 / 11)
    found = chances(np.array([rate]), noise, f, EDGES)[0]
    assert found == pytest.approx(expected, abs=1e-12) and sum(found) == pytest.approx(1.0)


def test_the_scale_in_words() -> None:
    """Our own scale: nothing below 0.3 deg/s, a hair to 1, slight to 3, moderate to 6, strong to 12, then violent."""
    asked = {
        0.29: "nothing",
        -0.31: "a hair",
        1.1: "slight",
        -3.1: "moderate",
        6.1: "strong",
        11.9: "strong",
        -12.1: "violent",
    }
    assert {rate: size_words(rate) for rate in asked} == asked
    assert list(EDGES[6:]) == list(SIZES.values()) and list(EDGES[:5]) == [
        -x for x in list(SIZES.values())[:0:-1]
    ]


@pytest.mark.parametrize("rudder", ["right", "left"])
@pytest.mark.parametrize("travel", ["left to right", "right to left"])
def test_came_in_is_to_canopy_or_belly_by_rudder_and_travel(rudder: str, travel: str) -> None:
    """By vectors: the observer stands south and looks north; right rudder carries it left wing down."""
    ahead = np.array([0.0, 1.0, 0.0]) * (1 if travel == "left to right" else -1)  # north, east, down
    right_wing = np.cross([0.0, 0.0, 1.0], ahead)  # level: down x forward
    canopy = -right_wing if rudder == "right" else right_wing  # left wing down: the canopy turns to the left
    away = canopy @ np.array([1.0, 0.0, 0.0])
    assert canopy_of("went out", rudder, travel) == np.sign(away)
    assert canopy_of("came in", rudder, travel) == -np.sign(away)


def test_an_inverted_line_decays_as_the_pitch_plane_says(corvane: Airplane) -> None:
    """Seconds from 45 deg to level by quadrature of the path's turning, g/V SM/(SM + D) (1 + cos climb)."""
    plane = corvane.planes
    margin = corvane.static_margin
    rho, V = 1.2133, float(plane["cruise"][0])  # kg/m3 at 100 m: US Standard Atmosphere, 1976
    D = (
        -float(plane["Cmq"][0] + plane["Cmad"][0])
        * rho
        * float(plane["S"][0] * plane["c"][0])
        / (4.0 * float(plane["mass"][0]))
    )
    seconds, _ = quad(
        lambda g: V / (9.80665 * margin / (margin + D) * (1.0 + math.cos(g))), 0.0, math.pi / 4.0
    )
    assert 1.0 / line_decay(plane)[0] == pytest.approx(seconds, rel=1e-3)


# ---------------------------------------------------------------- Bayes


def conjugate(prior: Prior, column: int, value: float, sigma: float) -> tuple[np.ndarray, np.ndarray]:
    """Mean and standard deviation of x after a normal reading of one of them (normal with normal, any textbook)."""
    covariance = prior.root @ prior.root.T
    gain = covariance[:, column] / (covariance[column, column] + sigma**2)
    after = covariance - np.outer(gain, covariance[column])
    return prior.mean + gain * (value - prior.mean[column]), np.sqrt(np.diag(after))


@pytest.mark.parametrize("slices", [False, True])
@pytest.mark.parametrize("off", [0.5, 3.0])
def test_a_number_moves_all_that_goes_with_it_as_normal_theory_says(
    prior: Prior, slices: bool, off: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    if slices:
        monkeypatch.setattr(updating, "_FEW", math.inf)
    column = X.index("push")
    sigma = float(np.linalg.norm(prior.root[column]))
    value = float(prior.mean[column]) + off * sigma
    nothing = np.zeros(2)
    found = update(prior, [Gauge("push", "f", 1, 0, value, 0.3 * sigma, "push", -1, nothing)])
    assert (found.effective == 0.0) is slices
    mean, spread = conjugate(prior, column, value, 0.3 * sigma)
    before = np.linalg.norm(prior.root, axis=1)
    assert np.abs(found.x.mean(axis=0) - mean).max() == pytest.approx(0.0, abs=0.25 * float(before.max()))
    assert ((found.x.mean(axis=0) - mean) / before)[column] == pytest.approx(0.0, abs=0.05)
    assert np.abs((found.x.mean(axis=0) - mean) / before).max() < 0.2
    assert found.x.std(axis=0) / spread == pytest.approx(1.0, abs=0.25)


def test_without_notes_it_is_the_crowd(prior: Prior) -> None:
    found = update(prior, [])
    assert found.x.mean(axis=0) == pytest.approx(
        prior.mean, abs=0.15 * float(np.linalg.norm(prior.root, axis=1).max())
    )
    assert np.std(np.log(found.scale)) == pytest.approx(HELPER, rel=0.15)


def test_words_move_the_ratio_they_speak_of_the_right_way(corvane: Airplane, prior: Prior) -> None:
    """It goes to the belly with no blend: up elevator is needed; it rolls left: right aileron."""
    before, after = (
        p.airplanes.ratios.mean(axis=0) for p in (update(prior, []), learned(corvane, prior, FIRST).now)
    )
    right_el, right_ail, left_el, left_ail, dive = after - before
    assert right_el > 0.01 and right_ail > 0.02 and left_ail < -0.02
    assert after[0] > 0.02 and after[1] > 0.0 and after[3] < 0.0 and dive < 0.005
    narrowed = learned(corvane, prior, FIRST).now.airplanes.ratios.std(axis=0)
    assert (
        narrowed[:4] < 0.6 * update(prior, []).airplanes.ratios.std(axis=0)[:4]
    ).all() and left_el is not None


def test_best_ratios_leave_least_drift(corvane: Airplane, prior: Prior) -> None:
    """No other pair leaves less in the mean square over the draws: looked for by steps of half a percent."""
    these = learned(corvane, prior, FIRST).now.airplanes
    flat = these._replace(play=np.zeros(2))
    best = best_ratios(flat)
    least = np.mean(drifts(flat, best) ** 2, axis=0)
    for i in range(len(RATIOS)):
        for step in (-0.005, 0.005):
            other = best.copy()
            other[i] += step
            columns = slice(4, 5) if i == 4 else slice(2 * (i // 2), 2 * (i // 2) + 2)
            assert np.mean(drifts(flat, other) ** 2, axis=0)[columns].sum() > least[columns].sum()


def test_a_helper_who_exaggerates_is_found_out(corvane: Airplane, prior: Prior) -> None:
    """Held sticks say how much it needs, so his words tell of his scale: violent for what is slight by the sticks."""
    sticks = "held_elevator: 0 %, held_aileron: 1 % {way}, rudder_share: 45 %"

    def flights(word: str) -> str:
        rows = [
            f"{{maneuver: knife-edge, rudder: {side}, pitch: nothing, roll: {word} {roll}, {sticks.format(way=way)}}}"
            for side, roll, way in (("right", "left", "right"), ("left", "right", "left"))
        ]  # fmt: skip
        passes = "".join(f"      - {row}\n" for row in rows)
        return f"  - flight: 1\n    wind: 0.1 m/s\n    blends: none\n    passes:\n{passes}"

    shy, loud = (np.mean(learned(corvane, prior, flights(word)).now.scale) for word in ("a hair", "strong"))
    assert loud > 1.15 * shy


def test_the_next_note_is_the_one_that_tells_most(corvane: Airplane, prior: Prior) -> None:
    """Against what a flight would leave: simulated readings of each candidate, learned by regression on half of the draws."""
    found = learned(corvane, prior, FIRST)
    k = best_ratios(found.now.airplanes)
    ranked = next_notes(found.now, k)
    assert [one.left for one in ranked] == sorted(one.left for one in ranked)
    assert all(0.0 < one.left <= one.now for one in ranked)
    edges, others = ([one.left for one in ranked if ("rudder" in one.words) is on] for on in (True, False))
    assert min(edges) < min(others), "the dive and the push tell little of knife-edge"


# ---------------------------------------------------------------- what is not believed


TURNED = """  - flight: {number}
    wind: 2 m/s
    blends: {{rudder-elevator.right: 4.5 % up, rudder-aileron.right: 4 % right, rudder-elevator.left: 3 % up,
              rudder-aileron.left: 4 % left}}
    passes:
      - {{maneuver: knife-edge, rudder: right, pitch: {pitch}, roll: {right}}}
      - {{maneuver: knife-edge, rudder: left, pitch: {pitch}, roll: {left}}}
"""


def test_a_blend_with_its_sign_turned_is_named_and_nothing_moved(corvane: Airplane, prior: Prior) -> None:
    """Aileron blend turned: it rolls twice as hard as bare.  Set aside; the same once more: believed."""
    odd = {"pitch": "a hair to belly", "right": "violent left", "left": "violent right"}
    once = learned(corvane, prior, FIRST, TURNED.format(number=2, **odd))
    bare = learned(corvane, prior, FIRST)
    last = once.steps[-1]
    assert not last.believed and last.surprise is not None and last.surprise.chance < 0.05
    assert last.surprise.about.startswith("roll, ")
    assert np.array_equal(once.now.x, bare.now.x)
    twice = learned(corvane, prior, FIRST, TURNED.format(number=2, **odd), TURNED.format(number=3, **odd))
    assert [step.believed for step in twice.steps] == [True, True, True] and twice.steps[-1].again
    assert twice.now.airplanes.ratios[:, 1].mean() > bare.now.airplanes.ratios[:, 1].mean() + 0.01


def test_what_was_to_be_expected_is_believed(corvane: Airplane, prior: Prior) -> None:
    found = learned(
        corvane,
        prior,
        FIRST,
        TURNED.format(number=2, pitch="nothing", right="a hair left", left="a hair right"),
    )
    assert all(step.believed for step in found.steps) and found.steps[-1].surprise.chance > 0.2


@pytest.mark.parametrize(
    ("passes", "named"),
    [
        (("rudder: right, roll: strong left", "rudder: right, roll: strong right"), "lines 8 and 9: roll, right rudder contradicts itself"),
        (("rudder: right, pitch: a hair to belly", "rudder: right, pitch: violent to belly"), "lines 8 and 9: pitch, right rudder"),
        (("rudder: right, pitch: strong to canopy, held_elevator: 6 % up",), "line 8: what is held goes with the drift"),
        (("rudder: left, roll: strong right, held_aileron: 6 % right",), "line 8: what is held goes with the drift"),
        (("rudder: right, travel: left to right, pitch: slight to belly, helper_said: slight went out",), "line 8: 'went out'"),
    ],
)  # fmt: skip
def test_what_contradicts_itself_is_named_by_line_and_tells_nothing(
    corvane: Airplane, prior: Prior, passes: tuple[str, ...], named: str
) -> None:
    text = HEAD + "  - flight: 1\n    wind: 2 m/s\n    blends: none\n    passes:\n"
    text += "".join(f"      - {{maneuver: knife-edge, {one}}}\n" for one in passes)
    [told] = tell([notes(corvane, text)], prior, ["helper"])
    assert len(told.against) == 1 and named in told.against[0], told.against
    assert told.seen == []


def test_less_than_last_with_a_larger_word_is_named(corvane: Airplane, prior: Prior) -> None:
    second = "  - flight: 2\n    blends: none\n    passes:\n      - {maneuver: knife-edge, rudder: left, roll: violent right, roll_than_last: less}\n"
    told = tell([notes(corvane, HEAD + FIRST + second)], prior, ["helper"])[1]
    assert "roll less than last, and the word of flight 1 says the opposite" in told.against[0]


def test_two_words_alike_are_one_of_two_passes(corvane: Airplane, prior: Prior) -> None:
    row = "      - {{maneuver: knife-edge, rudder: right, roll: {}}}\n"
    body = "  - flight: 1\n    wind: 2 m/s\n    blends: none\n    passes:\n"
    [once] = tell([notes(corvane, HEAD + body + row.format("slight left"))], prior, ["helper"])
    [both] = tell(
        [notes(corvane, HEAD + body + row.format("slight left") + row.format("moderate left"))],
        prior,
        ["helper"],
    )
    [word], [one] = both.seen, once.seen
    assert isinstance(word, Word) and isinstance(one, Word) and word.said == (2, 3) and not both.against
    calm, windy = prior.scatter[:, 1]  # gusts average out, what play leaves is the same in both
    assert one.scatter == pytest.approx(windy)
    assert word.scatter == pytest.approx(math.sqrt(calm**2 + 0.5 * (windy**2 - calm**2)))


def test_with_the_switch_off_no_ratio_is_in_force(corvane: Airplane, prior: Prior) -> None:
    text = HEAD + TURNED.format(number=1, pitch="nothing", right="nothing", left="nothing")
    on, off = (
        tell([notes(corvane, t)], prior, ["helper"])[0].seen
        for t in (text, text.replace("    passes", "    switch: off\n    passes"))
    )
    assert on[0].in_force.tolist() == [0.045, 0.04] and off[0].in_force.tolist() == [0.0, 0.0]


# ---------------------------------------------------------------- carried to the airplane


def test_the_airplane_needs_what_was_learned_and_so_do_those_drawn(corvane: Airplane, prior: Prior) -> None:
    found = learned(corvane, prior, FIRST)
    layer = layer_of(prior, found, corvane.airframe.sha256, {"mine.yaml": ""})
    assert layer is not None and layer.told == NEEDS
    taught = corvane.learned(layer)
    typical = needs(taught.planes, layer.share)[0]
    assert typical == pytest.approx(layer.mean, abs=0.004)
    crowd = taught.drawn(150)
    ours = needs(crowd.planes, layer.share)
    assert len(ours) == 150
    low, high = np.quantile(layer.draws, [0.1, 0.9], axis=0)
    theirs = np.nanquantile(ours, [0.1, 0.9], axis=0)
    width = high - low
    assert (
        np.abs(theirs[0] - low).max() < 0.35 * width.max() and ((theirs[1] - theirs[0]) / width < 1.35).all()
    )
    assert ((theirs[1] - theirs[0]) / width > 0.65).all()
    before = np.nanquantile(needs(corvane.drawn(150).planes, layer.share), [0.1, 0.9], axis=0)
    assert (np.ptp(theirs, axis=0)[:4] < 0.6 * np.ptp(before, axis=0)[:4]).all()


def test_a_changed_airplane_keeps_what_was_learned_of_the_one_as_filed(
    corvane: Airplane, prior: Prior
) -> None:
    layer = layer_of(prior, learned(corvane, prior, FIRST), corvane.airframe.sha256, {})
    assert layer is not None
    taught = corvane.learned(layer)
    changed, plain = taught.changed({"cg": "2 mm aft"}), corvane.changed({"cg": "2 mm aft"})
    assert changed.as_filed is taught and np.array_equal(changed.believed, taught.believed)
    shift, kept = (needs(plane.planes, layer.share)[0, :4] for plane in (plain, changed))
    moved = kept - shift
    learned_by = needs(taught.planes, layer.share)[0, :4] - needs(corvane.planes, layer.share)[0, :4]
    assert moved == pytest.approx(learned_by, abs=0.01)
    assert taught.unlearned.layer is None and np.array_equal(taught.unlearned.believed, corvane.believed)
    assert len(changed.drawn(20).planes) == 20


def test_only_what_was_told_is_carried(corvane: Airplane, prior: Prior) -> None:
    """A word of the dive moves the dive's stick; knife-edge has no target then."""
    dive = "  - flight: 1\n    blends: none\n    passes:\n      - {maneuver: dive, pitch: strong to canopy}\n"
    layer = layer_of(prior, learned(corvane, prior, dive), corvane.airframe.sha256, {})
    assert layer is not None and layer.told == ("elevator.dive",)
    assert layer.mean[0] < prior.mean[X.index("elevator.dive")]
    assert layer_of(prior, learn(prior, []), "", {}) is None


def test_what_belongs_to_another_file_is_refused(corvane: Airplane, prior: Prior) -> None:
    layer = layer_of(prior, learned(corvane, prior, FIRST), "0" * 64, {})
    assert layer is not None
    with pytest.raises(InputError, match="another version of this file"):
        corvane.learned(layer)


def test_points_by_their_meaning(prior: Prior) -> None:
    """Drift with the needed ratios is nothing; one percent more of elevator gives canopy by its gain."""
    x = prior.mean[None]
    these = airplanes(x, np.zeros(2))
    k = these.needed[0, 1]
    assert these.rates("canopy", 1, k) == pytest.approx(0.0) and these.rates("roll", 1, k) == pytest.approx(
        0.0
    )
    more = these.rates("canopy", 1, k + np.array([0.01, 0.0]))[0]
    assert more == pytest.approx(0.01 * math.degrees(math.exp(prior.mean[X.index("canopy.left")])) / 3.0)
    assert these.needed[0, 0, 0] == pytest.approx(prior.mean[0] / math.exp(prior.mean[5]))
    played = airplanes(x, np.array([0.01, 0.01]))
    assert played.rates("roll", 0, played.needed[0, 0] + 0.005)[0] == 0.0
