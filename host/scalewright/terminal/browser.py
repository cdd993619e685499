"""The same screens in a browser on this computer. There is no login, so nobody else can reach them.

The page comes from the loopback address only. Other pages in the same browser could still knock there, so what does not
come from this page itself is turned away: by the name it asked for, and by where it comes from (RFC 6455, 10.2).
"""

import os
import shlex
import subprocess
import sys
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path

from aiohttp import web
from textual_serve.server import Server

from scalewright.errors import ScalewrightError

ADDRESS = "127.0.0.1"
_PAGE = Path(__file__).with_name("page")
_Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


def serve(words: Sequence[str], port: int) -> None:
    """Offer the program that these words start on http://127.0.0.1:port until Ctrl+C; each page has one of its own.

    Raises ScalewrightError where the port is taken.
    """
    try:
        BenchServer(words, port).serve()
    except OSError as error:
        raise ScalewrightError(
            f"port {port} cannot be used: {str(error.strerror).lower()}", "name another one: --browser 8043"
        ) from error


class BenchServer(Server):
    """textual-serve with a page of our own, that asks nothing of any other computer, and with its doors shut."""

    def __init__(self, words: Sequence[str], port: int) -> None:
        quoted = shlex.join if os.name == "posix" else subprocess.list2cmdline
        command = quoted([sys.executable, *words])
        super().__init__(command, host=ADDRESS, port=port, title="Scalewright", templates_path=_PAGE)

    def serve(self, debug: bool = False) -> None:
        """Serve until Ctrl+C."""
        web.run_app(self._make_app(), host=self.host, port=self.port, print=self._say_where, access_log=None)

    def _say_where(self, _: str) -> None:
        """Once the door is open: where it is, and what to mind."""
        print(f"The bench is on {self.public_url}  (open it in a browser on this computer; Ctrl+C here ends it)")
        print("There is no login: whoever uses this computer can use it. No other computer can reach it.", flush=True)

    async def on_startup(self, app: web.Application) -> None:
        """Nothing: it is not open yet."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(self._turn_strangers_away)
        return app

    @web.middleware
    async def _turn_strangers_away(self, request: web.Request, handler: _Handler) -> web.StreamResponse:
        hosts = [f"{name}:{self.port}" for name in (ADDRESS, "localhost")]
        origin = request.headers.get("Origin", "")
        is_ours = origin in [f"http://{host}" for host in hosts] or (not origin and request.path != "/ws")
        if request.host not in hosts or not is_ours:
            raise web.HTTPForbidden(text="This page is for the computer it runs on.")
        response = await handler(request)
        if not response.prepared:
            response.headers["Content-Security-Policy"] = _policy(hosts)
        return response


def _policy(hosts: Sequence[str]) -> str:
    """Return what the page may load: from here only, and no other page may show it."""
    sockets = " ".join(f"ws://{host}" for host in hosts)
    own = "'self' 'unsafe-inline'"
    return f"default-src 'self' data:; script-src {own}; style-src {own}; connect-src {sockets}; frame-ancestors 'none'"
