"""Who may talk to the desk: this machine, the page it opened, and nobody else.

A page in another tab cannot reach it: the name of the host, the origin of whoever asks, and a token that only the
address opened at the start holds must all be right; what changes anything comes by POST.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response

__all__ = ["MOST_BYTES", "Guard"]

#: Longest message the page sends.
MOST_BYTES = 512 * 1024
_PAGE = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; frame-src 'self'; "
_RULES = "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
#: What a run's own pages may do: their scripts stand inside them, and they reach nothing, not even the desk.
OF_RUNS = (
    "sandbox allow-scripts allow-downloads allow-modals; default-src 'none'; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"
)
_HEADERS = {
    "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin",
}  # fmt: skip

Next = Callable[[Request], Awaitable[Response]]


class Guard:
    """Lets a request through, or refuses it.

    Parameters
    ----------
    port : int
    """

    def __init__(self, port: int) -> None:
        self.port, self.token = port, secrets.token_urlsafe(24)
        self._cookie = f"sixdof-desk-{port}"
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    @property
    def address(self) -> str:
        """What the browser opens, once, with the token."""
        return f"http://127.0.0.1:{self.port}/?token={self.token}"

    async def __call__(self, request: Request, call_next: Next) -> Response:
        """Answer, or say why not."""
        response = self._refusal(request) or await self._let_in(request, call_next)
        for name, value in _HEADERS.items():
            response.headers[name] = value
        response.headers.setdefault("Content-Security-Policy", _PAGE + _RULES)
        return response

    def _refusal(self, request: Request) -> Response | None:
        if request.headers.get("host", "") not in self._hosts:
            return PlainTextResponse("this desk answers to its own address only\n", 403)
        origin = request.headers.get("origin")
        if origin is not None and origin.removeprefix("http://") not in self._hosts:
            return PlainTextResponse("this desk answers to its own page only\n", 403)
        if request.method not in ("GET", "HEAD", "POST"):
            return PlainTextResponse("not so\n", 405)
        if request.method == "POST" and (origin is None or not request.url.path.startswith("/api/")):
            return PlainTextResponse("this desk answers to its own page only\n", 403)
        length = request.headers.get("content-length", "0" if request.method != "POST" else "")
        if not length.isdigit() or int(length) > MOST_BYTES:
            return PlainTextResponse("too long\n", 413)
        return None

    async def _let_in(self, request: Request, call_next: Next) -> Response:
        asked = request.query_params.get("token")
        if request.url.path == "/" and request.method == "GET" and asked is not None:
            if not self._is_token(asked):
                return PlainTextResponse(
                    "this address is of an earlier start: use the one in the terminal\n", 403
                )
            response: Response = RedirectResponse("/", 303)
            response.set_cookie(self._cookie, self.token, httponly=True, samesite="strict", path="/")
            return response
        if not self._is_token(request.cookies.get(self._cookie, "")):
            return PlainTextResponse("open the address that the terminal shows: it holds a token\n", 403)
        return await call_next(request)

    def _is_token(self, text: str) -> bool:
        return hmac.compare_digest(text.encode(), self.token.encode())
