"""Puts this folder on the path, so that every test finds ``support``; looks after tests that draw.

Tests marked ``renders`` are left out, with the reason printed, where nothing can be drawn, those marked ``browser``
where there is no browser, those marked ``window`` where there is no virtual display. With CI set in the environment they are kept, so that a machine that must draw and cannot is
a failure.
"""

import os
from collections.abc import Iterator

import pytest
from browsing import browser_problem
from windows import display_problem

_left_out: list[str] = []


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for marker, what, ask in (
        ("renders", "draw", _no_renderer),
        ("browser", "need a browser", browser_problem),
        ("window", "need a virtual display", display_problem),
    ):
        mine = [item for item in items if item.get_closest_marker(marker)]
        problem = ask() if mine else None
        if problem is None:
            continue
        if os.environ.get("CI"):
            raise pytest.UsageError(problem)
        config.hook.pytest_deselected(items=mine)
        items[:] = [item for item in items if item not in mine]
        _left_out.append(f"{len(mine)} tests that {what} were left out: {problem}")


def _no_renderer() -> str | None:
    from sixdof.show.probe import renderer_problem

    return renderer_problem()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for line in _left_out:
        terminalreporter.write_line(line)


@pytest.fixture(autouse=True)
def _clean_renderer(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that draws on any complaint of the renderer; close what it left open."""
    if not request.node.get_closest_marker("renders"):
        yield
        return
    import pyvista as pv

    from sixdof.show.probe import use_offscreen_window

    use_offscreen_window()
    with pv.VtkErrorCatcher(raise_errors=True):
        yield
    pv.close_all()
