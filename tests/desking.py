"""A desk in a process of its own, asked over the wire; what its tests share."""

from __future__ import annotations

import http.client
import json
import socket
import subprocess
from pathlib import Path
from typing import Any

from commanding import start

NOTES = """
sixdof_notes: 1
aircraft: corvane
flights:
  - flight: 1
    wind: 1 m/s
    blends: none
    passes:
      - {maneuver: knife-edge, rudder: right, held_elevator: 2 % up, held_aileron: 3 % left, rudder_share: 42 %}
      - {maneuver: knife-edge, rudder: left, held_elevator: 4 % up, held_aileron: 3 % right, rudder_share: 48 %}
"""
DEMO = (Path(__file__).parent.parent / "aircraft" / "corvane.yaml").read_text(encoding="utf-8")


def start_desk(folder: Path, port: int, *words: str) -> subprocess.Popen[str]:
    """Start a desk at a port, without a browser."""
    return start(folder, "desk", *words, "--no-browser", "--port", str(port))


class Wire:
    """A desk in a process of its own, in a folder of its own."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.folder = folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.process = start_desk(folder, self.port, *words)
        assert self.process.stdout is not None
        self.said = self.process.stdout.readline()
        self.token = self.said.partition("token=")[2].strip()
        self.cookie = f"sixdof-desk-{self.port}={self.token}"

    def ask(
        self, method: str, path: str, body: bytes | None = None, **headers: str | None
    ) -> tuple[int, dict[str, str], bytes]:
        """Status, headers, body; ``headers`` stand in place of a browser's own, None leaves one out."""
        own: dict[str, str | None] = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie}
        if method == "POST":
            own["Origin"] = f"http://127.0.0.1:{self.port}"
        own |= {name.replace("_", "-"): value for name, value in headers.items()}
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in own.items():
                if value is not None:
                    line.putheader(name, value)
            if body is not None and "Content-Length" not in own:
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body)
            answer = line.getresponse()
            return answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()
        finally:
            line.close()

    def get(self, path: str) -> Any:
        status, _, body = self.ask("GET", f"/api/{path}")
        assert status == 200, (path, status, body)
        return json.loads(body)

    def post(self, path: str, **said: Any) -> tuple[int, Any]:
        status, _, body = self.ask("POST", f"/api/{path}", json.dumps(said).encode())
        return status, json.loads(body)

    def end(self) -> None:
        self.process.terminate()
        self.process.wait(20)
