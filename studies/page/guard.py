"""Who may talk to the page's server: a browser on this machine that opened the page itself."""

import hmac
from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

TOKEN_HEADER = "x-gussetry-token"
LARGEST_BODY = 1_200_000

_OWN_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})
_FROM_HERE = frozenset({"same-origin", "none"})
_PAGE_RULES = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'self'"
)
_RESULT_RULES = (
    "sandbox allow-scripts allow-popups allow-downloads allow-modals; default-src 'none'; "
    "script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob: 'self'"
)
"""For pages made by runs: they bring their own script and style, and reach nothing else."""

Next = Callable[[Request], Awaitable[Response]]


def refusal(request: Request, token: str) -> str | None:
    """Why a request is not answered, or None.

    Host keeps out other sites that point a name of theirs at this machine, Origin and
    Sec-Fetch-Site what their pages send, the token whatever else cannot read this server's answers.
    """
    host = urlsplit(f"//{request.headers.get('host', '')}")
    try:
        own = host.hostname in _OWN_NAMES and (host.port or 80) == request.scope["server"][1]
    except ValueError:
        own = False
    if not own:
        return "this page is for this computer alone; open it as http://127.0.0.1"
    origin = request.headers.get("origin")
    if origin is not None and origin != f"http://{request.headers['host']}":
        return "another site's page asked for this"
    site = request.headers.get("sec-fetch-site", "none")
    if request.method in ("GET", "HEAD"):
        top = request.headers.get(
            "sec-fetch-mode"
        ) == "navigate" and not request.url.path.startswith("/api")
        return None if site in _FROM_HERE or top else "another site's page asked for this"
    if site not in _FROM_HERE:
        return "another site's page asked for this"
    if not hmac.compare_digest(request.headers.get(TOKEN_HEADER, "").encode(), token.encode()):
        return "this page was opened from an earlier server; load it again"
    return None


def oversized(request: Request) -> bool:
    """Whether a request's body is larger than any study, or does not say how large it is."""
    if request.method in ("GET", "HEAD"):
        return False
    length = request.headers.get("content-length", "")
    return not length.isdecimal() or int(length) > LARGEST_BODY


def guarded_by(token: str) -> Callable[[Request, Next], Awaitable[Response]]:
    """A middleware that refuses strangers and tells the browser what a page may load."""

    async def guard(request: Request, answered: Next) -> Response:
        if why := refusal(request, token):
            return _said(403, why)
        if oversized(request):
            return _said(413, "this is larger than any study")
        response = await answered(request)
        if rules := _rules(request.url.path):
            response.headers["Content-Security-Policy"] = rules
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Cache-Control"] = "no-store"
        return response

    return guard


def _rules(path: str) -> str:
    """What the answer to ``path`` may load; such rules would stop the viewer that shows a PDF."""
    if not path.startswith("/results/"):
        return _PAGE_RULES
    return _RESULT_RULES if path.endswith((".html", ".svg")) else ""


def _said(status: int, why: str) -> Response:
    return JSONResponse({"problem": why, "remedy": ""}, status)
