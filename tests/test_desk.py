"""The desk: who may talk to it, what it does to a file, what it answers; asked over the wire as a browser does."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from commanding import end, refused
from desking import DEMO, NOTES, Wire, start_desk

from sixdof.airframe.load import load_airframe
from sixdof.airframe.template import new_text
from sixdof.desk.guard import Guard
from sixdof.desk.paper import edited, groups, key_of_box, typed
from sixdof.desk.server import application
from sixdof.desk.work import Desk
from sixdof.files.errors import InputError
from sixdof.files.yamlio import parse_yaml
from sixdof.show.threeview import three_view


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("desk")


@pytest.fixture(scope="module")
def wire(folder: Path) -> Iterator[Wire]:
    (folder / "mine.yaml").write_text(DEMO, encoding="utf-8")
    (folder / "secret.txt").write_text("not for anybody")
    desk = Wire(folder, "mine")
    yield desk
    desk.end()


# ---------------------------------------------------------------- who may talk to it


def test_it_listens_on_this_machine_alone_and_prints_its_address(wire: Wire) -> None:
    assert re.fullmatch(rf"desk: http://127\.0\.0\.1:{wire.port}/\?token=[\w-]{{32}}\n", wire.said)
    lines = Path("/proc/net/tcp").read_text().splitlines() if Path("/proc/net/tcp").exists() else []
    mine = [
        line.split()[1]
        for line in lines
        if line.split()[1].endswith(f":{wire.port:04X}") and line.split()[3] == "0A"
    ]
    assert not lines or mine == [f"0100007F:{wire.port:04X}"]


def test_the_token_opens_it_once_and_becomes_a_cookie_of_this_site_only(wire: Wire) -> None:
    status, headers, _ = wire.ask("GET", f"/?token={wire.token}", Cookie=None)
    assert status == 303 and headers["location"] == "/"
    cookie = headers["set-cookie"].lower()
    assert (
        cookie.startswith(f"sixdof-desk-{wire.port}=")
        and "httponly" in cookie
        and "samesite=strict" in cookie
    )
    for wrong in ("/", "/?token=", f"/?token={wire.token[:-1]}x", "/api/paper", "/desk.js"):
        assert wire.ask("GET", wrong, Cookie=None)[0] == 403, wrong
    assert wire.ask("GET", "/api/paper", Cookie=f"sixdof-desk-{wire.port}=x")[0] == 403


@pytest.mark.parametrize(
    "host", ["example.org", "127.0.0.1", "127.0.0.1:80", "localhost.example.org:{port}", ""]
)
def test_another_name_of_the_host_is_refused(wire: Wire, host: str) -> None:
    assert wire.ask("GET", "/api/paper", Host=host.format(port=wire.port))[0] in (400, 403)


@pytest.mark.parametrize(
    "origin", ["http://example.org", "null", "https://127.0.0.1:{port}", "http://127.0.0.1:1", None]
)
def test_another_page_with_the_cookie_is_refused(wire: Wire, folder: Path, origin: str | None) -> None:
    before = (folder / "mine.yaml").read_bytes()
    origin = origin and origin.format(port=wire.port)
    said = {"key": "mass.total", "text": "5 kg", "sha": wire.get("paper")["sha"]}
    assert wire.ask("POST", "/api/value", json.dumps(said).encode(), Origin=origin)[0] == 403
    assert (folder / "mine.yaml").read_bytes() == before


def test_what_changes_anything_comes_by_post_below_api(wire: Wire) -> None:
    posted = [
        route.path for route in application(Desk("corvane"), Guard(1)).routes if "POST" in route.methods
    ]
    assert len(posted) > 8 and all(path.startswith("/api/") for path in posted)
    for path in posted:
        assert wire.ask("GET", path)[0] == 405, path
    assert wire.ask("POST", "/")[0] in (403, 405)
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE"):
        assert wire.ask(method, "/api/paper")[0] == 405, method


def test_no_path_leads_out_of_the_runs(wire: Wire, folder: Path) -> None:
    (folder / "runs" / "one").mkdir(parents=True, exist_ok=True)
    (folder / "runs" / "one" / "report.html").write_text("<p>one</p>")
    (folder / "runs" / "one" / "other.html").write_text("<p>other</p>")
    (folder / "runs" / "out").symlink_to(folder)
    (folder / "report.html").write_text("outside")
    status, headers, body = wire.ask("GET", "/runs/one/report.html")
    assert status == 200 and body == b"<p>one</p>"
    assert (
        headers["content-security-policy"].startswith("sandbox allow-scripts")
        and "connect-src" not in headers["content-security-policy"]
    )
    for path in (
        "/runs/one/other.html", "/runs/../secret.txt", "/runs/%2e%2e/secret.txt", "/runs/..%2fsecret.txt/report.html", "/secret.txt",
        "/runs/out/report.html", "/runs/.unfinished-1/report.html", "/runs/one/%2e%2e%2f%2e%2e%2fsecret.txt", "//etc/passwd",
    ):  # fmt: skip
        status, _, body = wire.ask("GET", path)
        assert status in (403, 404) and b"not for anybody" not in body and b"outside" not in body, path


def test_too_long_or_malformed_messages_are_refused(wire: Wire) -> None:
    assert wire.ask("POST", "/api/value", Content_Length=str(100 * 2**20))[0] == 413
    assert wire.ask("POST", "/api/value", b"x" * 600_000)[0] == 413
    assert wire.ask("POST", "/api/value", None, Transfer_Encoding="chunked", Content_Length=None)[0] == 413
    for body in (
        b"",
        b"{",
        b"[]",
        b"nul",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"key": 3, "text": {}, "sha": null}',
    ):
        status, _, answer = wire.ask("POST", "/api/value", body)
        assert status in (400, 409) and json.loads(answer)["error"] and b"Traceback" not in answer, body[:20]


def test_every_answer_says_what_the_page_may_load(wire: Wire) -> None:
    for path in ("/", "/desk.js", "/api/paper"):
        headers = wire.ask("GET", path)[1]
        rules = headers["content-security-policy"]
        assert (
            "default-src 'none'" in rules
            and "unsafe" not in rules
            and "http" not in rules
            and "frame-ancestors 'none'" in rules
        )
        assert headers["x-content-type-options"] == "nosniff" and headers["referrer-policy"] == "no-referrer"
        assert "access-control-allow-origin" not in headers and headers["cache-control"] == "no-store"
    page = wire.ask("GET", "/")[2].decode()
    assert not re.search(r"https?://|<script>|style=|onclick", page), (
        "no script or style of its own, nothing from outside"
    )


def test_a_second_start_says_that_one_runs(wire: Wire, folder: Path) -> None:
    done = end(start_desk(folder, wire.port))
    refused(done, f"--port {wire.port}: taken; a desk may run there already")


# ---------------------------------------------------------------- what it does to a file


def test_a_value_is_saved_and_all_else_stays_byte_for_byte(wire: Wire, folder: Path) -> None:
    before = (folder / "mine.yaml").read_text(encoding="utf-8")
    status, state = wire.post("value", key="mass.total", text="4,8", sha=wire.get("paper")["sha"])
    assert status == 200 and state["read"] == "4.8 kg" and state["complaint"] is None
    after = (folder / "mine.yaml").read_text(encoding="utf-8")
    assert after == before.replace("total: 4.7 kg", "total: 4.8 kg")
    assert load_airframe(folder / "mine.yaml").mass.m == pytest.approx(4.8)
    status, _ = wire.post("value", key="mass.total", text="4.7 kg", sha=state["sha"])
    assert status == 200 and (folder / "mine.yaml").read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "nothing"),
        ("1,200 mm", "1.200 or 1200"),
        ("heavy", "got"),
        ("-3 kg", "got"),
        ("4 furlongs", "unknown unit"),
        ("1e99 kg", "got"),
    ],
)
def test_what_cannot_stand_there_is_said_and_not_saved(
    wire: Wire, folder: Path, text: str, word: str
) -> None:
    before = (folder / "mine.yaml").read_bytes()
    status, answer = wire.post("value", key="mass.total", text=text, sha=wire.get("paper")["sha"])
    assert status == 400 and word in answer["error"] and "\n" not in answer["error"]
    assert (folder / "mine.yaml").read_bytes() == before


def test_a_value_that_does_not_fit_the_others_is_saved_and_the_box_is_named(wire: Wire) -> None:
    sha = wire.get("paper")["sha"]
    status, state = wire.post("value", key="wing.panels[0].span", text="400 mm", sha=sha)
    assert status == 200 and state["complaint"]["key"] == "controls.aileron.outboard"
    assert "400 mm" in state["complaint"]["text"]
    status, state = wire.post("value", key="wing.panels[0].span", text="1000 mm", sha=state["sha"])
    assert status == 200 and state["complaint"] is None


def test_of_two_who_type_at_once_one_is_told(wire: Wire, folder: Path) -> None:
    sha = wire.get("paper")["sha"]
    found: list[int] = []
    both = [
        threading.Thread(
            target=lambda t=t: found.append(wire.post("value", key="mass.cg.aft", text=t, sha=sha)[0])
        )
        for t in ("665 mm", "667 mm")
    ]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert sorted(found) == [200, 409]
    assert re.search(r"aft: 66[57] mm", (folder / "mine.yaml").read_text(encoding="utf-8"))
    assert wire.post("value", key="mass.cg.aft", text="666 mm", sha=wire.get("paper")["sha"])[0] == 200


def test_a_demo_is_copied_before_it_is_changed(tmp_path: Path) -> None:
    desk = Wire(tmp_path)
    try:
        state = desk.get("paper")
        assert state["demo"] and state["name"] == "corvane" and not list(tmp_path.glob("*.yaml"))
        status, state = desk.post("value", key="mass.total", text="4.6 kg", sha=state["sha"])
        assert (
            status == 200 and not state["demo"] and "total: 4.6 kg" in (tmp_path / "corvane.yaml").read_text()
        )
        status, state = desk.post("new", name="own", units="inch")
        assert status == 200 and state["name"] == "own" and (tmp_path / "own.yaml").is_file()
        for bad in ("../own", "a/b", "", ".x", "own"):
            assert desk.post("new", name=bad, units="metric")[0] == 400, bad
        assert desk.post("open", name="corvane")[1]["name"] == "corvane"
        assert desk.post("open", name="../corvane.yaml")[0] == 400
    finally:
        desk.end()


def test_killed_while_it_saves_the_file_is_whole(tmp_path: Path) -> None:
    """Values one after the other as fast as they go, and no mercy in between."""
    (tmp_path / "mine.yaml").write_text(DEMO, encoding="utf-8")
    desk = Wire(tmp_path, "mine")
    sha, stop = desk.get("paper")["sha"], threading.Event()

    def type_on() -> None:
        nonlocal sha
        try:
            for k in range(10_000):
                if stop.is_set():
                    return
                sha = desk.post("value", key="mass.total", text=f"{4.0 + 0.001 * k:.3f} kg", sha=sha)[1][
                    "sha"
                ]
        except (OSError, http.client.HTTPException, KeyError):
            return

    typing = threading.Thread(target=type_on)
    typing.start()
    time.sleep(1.0)
    os.kill(desk.process.pid, signal.SIGKILL)
    desk.process.wait(20)
    stop.set()
    typing.join(30)
    text = (tmp_path / "mine.yaml").read_text(encoding="utf-8")
    assert (
        re.sub(r"total: [\d.]+ kg", "total: 4.7 kg", text) == DEMO
        and load_airframe(tmp_path / "mine.yaml").mass.m >= 4.0
    )


# ---------------------------------------------------------------- what it answers


def test_a_tune_tells_its_progress_can_be_cancelled_and_ends_with_the_words_of_the_terminal(
    wire: Wire, folder: Path
) -> None:
    begin = time.monotonic()
    while wire.get("job")["ready"] and time.monotonic() - begin < 120.0:
        time.sleep(0.2)
    status, job = wire.post("tune", changes=[])
    assert status == 200 and job["running"]
    assert wire.post("tune", changes=[])[0] == 409, "one at a time"
    wire.post("cancel")
    while (job := wire.get("job"))["running"]:
        time.sleep(0.05)
    assert job["text"].startswith("cancelled") or "answer" in job
    status, _ = wire.post("tune", changes=["cg=3 mm aft"])
    assert status == 200
    while (job := wire.get("job"))["running"]:
        assert 0.0 <= job["share"] <= 1.0
        time.sleep(0.1)
    answer = job["answer"]
    assert answer["changes"] == ["CG 3 mm further aft"] and answer["invented"]
    assert (folder / answer["run"] / "result.json").is_file()
    kept = json.loads((folder / answer["run"] / "result.json").read_text())
    assert answer["words"] == [blend["words"] for blend in kept["blends"]]
    assert len(answer["ratios"]["rows"]) == len(kept["blends"]) and "Propeller off" in answer["short"]
    assert wire.post("tune", changes=["wings=2"])[0] == 400
    status, headers, page = wire.ask("GET", f"/{answer['run']}/sheet.html")
    assert (
        status == 200 and b"Set-up sheet" in page and headers["content-security-policy"].startswith("sandbox")
    )


def test_notes_are_taken_in_and_out_and_the_next_tune_knows_them(wire: Wire, folder: Path) -> None:
    assert wire.post("learn", name="x", text="", undo=False)[0] == 400, "no notes yet"
    status, answer = wire.post("learn", name="n1.yaml", text=NOTES.replace("2 % up", "2 % upp"), undo=False)
    assert status == 400 and "n1.yaml:9: " in answer["error"] and not (folder / "mine.learned.json").exists()
    before = _tuned(wire)
    assert wire.post("learn", name="../../n1.yaml", text=NOTES, undo=False)[0] == 200
    lesson = _done(wire)["answer"]
    assert (
        lesson["flights"][0][0] == "1"
        and "chance of" in lesson["served"]
        and "Propeller off" in lesson["short"]
    )
    assert (folder / "mine.learned.json").is_file() and not (folder.parent / "n1.yaml").exists()
    after = _tuned(wire)
    for side in ("right", "left"):
        wide, narrow = (
            next(r["doubt"] for r in found if (r["side"], r["target"]) == (side, "elevator"))
            for found in (before, after)
        )
        assert narrow["high_percent"] - narrow["low_percent"] < 0.6 * (
            wide["high_percent"] - wide["low_percent"]
        )
    assert wire.post("learn", name="", text="", undo=True)[0] == 200
    _done(wire)
    assert _tuned(wire) == before
    assert wire.post("learn", name="", text="", undo=True)[0] == 400, "nothing left to take out"


def _done(wire: Wire) -> dict[str, Any]:
    while (job := wire.get("job"))["running"]:
        time.sleep(0.1)
    assert "error" not in job, job
    return job


def _tuned(wire: Wire) -> list[dict[str, Any]]:
    assert wire.post("tune", changes=[])[0] == 200
    run = _done(wire)["answer"]["run"]
    return json.loads((wire.folder / run / "result.json").read_text())["blends"]


def test_a_look_says_what_check_says(wire: Wire) -> None:
    found = wire.get("check")
    assert "neutral" in found["view"] and any("static margin" in line for line in found["balance"])
    assert any(line.startswith("up elevator stick") for line in found["sticks"])


@pytest.mark.parametrize(
    ("path", "more", "word"),
    [
        ("fly", {"maneuver": "../knife_edge"}, "no maneuver"), ("fly", {"maneuver": "loop the loop"}, "not known"),
        ("fly", {"speed": 20}, "speed: expected 50 to 200 percent"), ("fly", {"speed": True}, "speed"),
        ("fly", {"rudder": 150}, "rudder: expected 0 to 100 percent"), ("fly", {"rudder": "full"}, "rudder"),
        ("fly", {"wind": "a storm"}, "expected"), ("fly", {"wind": "4 m/s from the moon"}, "from"),
        ("fly", {"ratios": {"rudder-elevator.left": 400}}, "-100 to 100"), ("fly", {"ratios": {"rudder-moon.left": 4}}, "not a ratio"),
        ("fly", {"then": ["cg=9 m aft"]}, "expected at most"), ("fly", {"then": "cg=9 mm aft"}, "a few short texts"),
        ("explore", {"vary": "rudder-aileron.left", "most": 0}, "most"), ("explore", {"vary": "flap-elevator.high", "most": 9}, "says nothing"),
        ("explore", {"most": 9}, "not a ratio"), ("steps", {"change": "wings"}, "wings"), ("steps", {}, "known here"),
    ],
)  # fmt: skip
def test_what_cannot_be_flown_is_said_in_a_line(
    wire: Wire, path: str, more: dict[str, Any], word: str
) -> None:
    status, answer = wire.post(path, **{"maneuver": "knife_edge"} | more)
    assert status == 400 and word in answer["error"] and "\n" not in answer["error"], answer
    assert "Traceback" not in answer["error"] and len(answer["error"]) < 600


# ---------------------------------------------------------------- boxes


def test_every_value_of_a_new_file_has_a_box_with_a_label_of_its_own() -> None:
    document = parse_yaml(Path("own.yaml"), new_text("own").encode())
    found = groups(document)
    keys = [box.key for group in found for box in group.boxes]
    assert len(keys) == len(set(keys)) == len(document.spans) - 1, "all but the version"
    for group in found:
        labels = [box.label for box in group.boxes]
        assert len(labels) == len(set(labels)) or group.title == "Power", group.title
    assert [group.title for group in found][:4] == ["The airplane", "Wing", "Tailplane", "Fin"]
    assert "incidence meter" in next(group.help for group in found if group.title == "Wing")


@pytest.mark.parametrize(
    "text", ["abc: d", "{x: 1}", "3 mm # hi", "5 mm, up: 3 mm", "&a 3", "!x", "a\nb", '"', "- x", "[1]", "'"]
)
def test_no_text_breaks_out_of_its_place(text: str) -> None:
    document = parse_yaml(Path("mine.yaml"), DEMO.encode())
    for box in ("wing.root.up", "about", "mass.total"):
        key = key_of_box(document, box)
        try:
            new = edited(document, key, typed(text, "3 mm"))
        except InputError:
            continue
        changed = {k: v for k, v in _values(new).items() if _values(document)[k] != v}
        assert set(changed) <= {key} and len(new.spans) == len(document.spans)


def _values(document: Any) -> dict[Any, Any]:
    return {key: document.at(key) for key in document.spans}


def test_views_are_those_of_the_numbers() -> None:
    """The span on paper over the length, of three demos; CG and neutral point where they lie."""
    for name in ("corvane", "fenlark", "tessel"):
        airframe = load_airframe(name)
        svg = three_view(airframe, neutral_point=airframe.mass.cg[0] - 0.02)
        wing = svg.partition('<g class="wing">')[2].partition("</g>")[0]
        ys = [float(y) for y in re.findall(r"[ML][-\d.]+ ([-\d.]+)", wing)]
        first = svg.partition('<g class="body">')[2].partition("Z")[0]
        xs = [float(x) for x in re.findall(r"[ML]([-\d.]+) ", first)]
        length = airframe.body[0].x - airframe.body[-1].x
        scale = (max(xs) - min(xs)) / length
        above = [y for y in ys if y < airframe.wing.span * scale * 1.01]
        assert (max(above) - min(above)) / scale == pytest.approx(airframe.wing.span, rel=0.02), name
        cg, neutral = (
            float(re.search(rf'class="{n}"><circle cx="([\d.]+)"', svg)[1]) for n in ("cg", "neutral")
        )  # type: ignore[index]
        assert (neutral - cg) / scale == pytest.approx(0.02, rel=0.05), "aft is to the right"
