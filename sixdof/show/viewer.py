"""A window to play flights in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import perf_counter
from typing import Any

from sixdof.airframe.model import Airframe
from sixdof.show.cameras import PLAYED, View
from sixdof.show.flown import ShownFlight
from sixdof.show.palette import BLENDED, INK, PALE_INK
from sixdof.show.probe import NoRenderer, display_problem
from sixdof.show.replay import PANEL, Replay
from sixdof.show.words import write

__all__ = ["KEYS", "add_controls", "open_viewer"]

#: What each key does.
KEYS = {
    "space": "play or pause",
    "n": "next phase",
    "b": "phase before",
    "F1": PLAYED["caller"],
    "F2": PLAYED["above"],
    "F3": PLAYED["along"],
}
_EVERY = 25  # ms from one picture to the next


def open_viewer(
    airframe: Airframe,
    flights: Sequence[ShownFlight],
    *,
    window_size: tuple[int, int] = (1400, 800),
    title: str = "",
) -> None:
    """Open a window that plays flights, and wait until it is closed; the arguments are those of :class:`Replay`.

    Keys are those of :data:`KEYS`; the slider and the buttons do the same.

    Raises
    ------
    NoRenderer
        Where no window can be opened; says in one line why.
    """
    problem = display_problem()
    if problem:
        raise NoRenderer(problem)
    replay = Replay(airframe, flights, window_size=window_size, off_screen=False, title=title)
    try:
        frame = add_controls(replay)
        last = perf_counter()

        def pulse(*_: object) -> None:
            nonlocal last
            now = perf_counter()
            frame(now - last)
            last = now

        window: Any = replay.plotter
        window.iren.add_observer(
            "TimerEvent", pulse
        )  # `add_timer_event` would draw each time, playing or not
        window.iren.create_timer(_EVERY)
        window.show(title=f"sixdof: {airframe.name}", auto_close=False)
    finally:
        replay.plotter.close()


def add_controls(replay: Replay) -> Callable[[float], None]:
    """Give a replay its slider, buttons and keys.

    Returns
    -------
    callable
        To be called again and again with the seconds gone by; moves the slider along.
    """
    plotter: Any = replay.plotter  # its decorated methods lose their first argument in typing
    plotter.subplot(1, 0)
    slider = plotter.add_slider_widget(
        replay.place, (replay.start, replay.end), value=replay.start, title="time [s]",
        pointa=(0.60, 0.80), pointb=(0.97, 0.80), color=INK, fmt="%.1f", style="modern",
        title_height=0.10, interaction_event="always", tube_width=0.02, slider_width=0.08,
    )  # fmt: skip

    slider.GetRepresentation().SetLabelHeight(0.10)

    def show() -> None:
        slider.GetRepresentation().SetValue(replay.time)
        plotter.render()

    def then_show(act: Callable[[], None]) -> Callable[[], None]:
        def acted() -> None:
            act()
            show()

        return acted

    def looker(view: View) -> Callable[[], None]:
        def turned() -> None:
            replay.look(view)
            for name, button in buttons.items():
                button.GetRepresentation().SetState(int(name == view))

        return then_show(turned)

    buttons: dict[View, Any] = {}

    actions = {
        "space": then_show(replay.toggle),
        "n": then_show(lambda: replay.step(1)),
        "b": then_show(lambda: replay.step(-1)),
        "F1": looker("caller"),
        "F2": looker("above"),
        "F3": looker("along"),
    }
    for key, act in actions.items():
        plotter.add_key_event(key, act)
    width, height = plotter.window_size
    left = round(0.60 * width)
    for k, (key, view) in enumerate(zip(("F1", "F2", "F3"), PLAYED, strict=True)):
        y = 62 - 24 * k
        buttons[view] = plotter.add_radio_button_widget(
            actions[key], "views", value=view == replay.view, position=(left, y), size=16, border_size=3,
            color_on=BLENDED, color_off="white", background_color=PALE_INK,
        )  # fmt: skip
        at = ((left + 26) / width, y / (height * PANEL))
        write(plotter, f"{key}: {PLAYED[view]}", at, name=f"view-{k}", size=8)
    hint = ", ".join(f"{key}: {KEYS[key]}" for key in ("space", "n", "b"))
    write(plotter, hint, (0.60, 88 / (height * PANEL)), name="keys", size=8, color=PALE_INK)

    def frame(seconds: float) -> None:
        if replay.playing:
            replay.tick(seconds)
            show()

    return frame
