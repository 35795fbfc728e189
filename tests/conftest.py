"""Puts this folder on the path, so that every test finds ``support``; looks after tests that draw.

Tests marked ``renders`` are left out, with the reason printed, where nothing can be drawn. With CI set
in the environment they are kept, so that a machine that must draw and cannot is a failure.
"""

import os
from collections.abc import Iterator

import pytest

_left_out: list[str] = []


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    drawing = [item for item in items if item.get_closest_marker("renders")]
    if not drawing:
        return
    from sixdof.show.probe import renderer_problem

    problem = renderer_problem()
    if problem is None:
        return
    if os.environ.get("CI"):
        raise pytest.UsageError(problem)
    config.hook.pytest_deselected(items=drawing)
    items[:] = [item for item in items if item not in drawing]
    _left_out.append(f"{len(drawing)} tests that draw were left out: {problem}")


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
