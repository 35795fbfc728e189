"""Whether this machine can draw, said in one line."""

import os
import subprocess
import sys

import pytest
from showing import airplane, two_flights

from sixdof.show import probe


def script(body):
    return [sys.executable, "-c", body]


def test_missing_libraries_give_one_line_with_the_cure(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    said = probe.renderer_problem(
        script("import sys; sys.exit('libEGL.so.1: cannot open shared object file')")
    )
    assert said is not None
    assert "\n" not in said
    assert "libEGL.so.1" in said
    assert said.endswith("apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri")


def test_a_crash_of_the_renderer_is_said_and_survived():
    said = probe.renderer_problem(script("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"))
    assert said is not None
    assert "the renderer crashed" in said


def test_a_renderer_that_hangs_or_is_absent_is_said(monkeypatch):
    monkeypatch.setattr(probe, "PATIENCE", 0.3)
    assert "did not answer" in str(probe.renderer_problem(script("import time; time.sleep(60)")))
    assert "cannot be drawn here" in str(probe.renderer_problem(["no-such-program-here"]))


def test_where_it_works_nothing_is_said():
    assert probe.renderer_problem(script("pass")) is None


#: The question as a command asks it, from a folder and a search path of one's own.
ASK = "from sixdof.show.probe import renderer_problem; print(renderer_problem())"


@pytest.mark.parametrize("variables", [{}, {"PYTHONSAFEPATH": "1"}, {"PYTHONPATH": ":"}, {"PYTHONPATH": "."}])
def test_no_module_of_the_working_folder_is_run(variables, tmp_path):
    """Files of these names are what a download can bring along; each would leave a trace."""
    for name in ("vtkmodules", "vtkmodules/vtkRenderingOpenGL2", "sitecustomize", "usercustomize", "ctypes"):
        path = tmp_path / f"{name}.py"
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"open({str(tmp_path / 'was_run')!r}, 'a').write({name!r})")
    (tmp_path / "vtkmodules" / "__init__.py").write_text("")
    # this process takes its own modules first, so that only the one it starts can go wrong
    ask = f"import sys; own = sys.path[:]; sys.path[:] = {sys.path!r}; import numpy, sixdof.show.probe; sys.path[:] = [*own, *sys.path]; {ASK}"
    quiet = {**os.environ, "PYTHONPATH": "", **variables}
    done = subprocess.run(
        [sys.executable, "-S", "-c", ask], cwd=tmp_path, env=quiet, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert not (tmp_path / "was_run").exists(), (tmp_path / "was_run").read_text()
    assert done.stdout.strip() == str(probe.renderer_problem()), "and the answer is the same as elsewhere"


def test_no_display_is_said_in_one_line(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    said = probe.display_problem()
    assert said is not None
    assert "DISPLAY is not set" in said
    monkeypatch.setenv("DISPLAY", ":987654")
    assert "no window can be opened" in str(probe.display_problem())


def test_pictures_and_windows_raise_that_line_instead_of_crashing(monkeypatch, tmp_path):
    from sixdof.show import film, scene, viewer

    monkeypatch.setattr(scene, "renderer_problem", lambda: "pictures cannot be drawn here")
    monkeypatch.setattr(film, "renderer_problem", lambda: "pictures cannot be drawn here")
    monkeypatch.setattr(viewer, "display_problem", lambda: "no window can be opened")
    with pytest.raises(probe.NoRenderer, match="cannot be drawn"):
        scene.save_png(tmp_path / "a.png", airplane(), two_flights())
    with pytest.raises(probe.NoRenderer, match="cannot be drawn"):
        film.save_gif(tmp_path / "a.gif", airplane(), two_flights())
    with pytest.raises(probe.NoRenderer, match="no window"):
        viewer.open_viewer(airplane(), two_flights())
    assert not list(tmp_path.iterdir())


def test_the_package_imports_nothing_heavy():
    code = "import sys, sixdof.show, sixdof.show.probe; print([m for m in ('pyvista', 'vtkmodules', 'matplotlib', 'numba') if m in sys.modules])"
    assert (
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        ).stdout.strip()
        == "[]"
    )
