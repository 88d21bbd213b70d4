"""What answers the page: each address, and what it may say."""

import contextlib
import json
from collections.abc import AsyncIterator, Callable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import fontpkg_source_sans_3 as sans
import fontpkg_source_serif_4 as serif
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from fieldmap.errors import FieldmapError
from fieldmap.read import language_and_units
from fieldmap.serve import guard
from fieldmap.serve.desk import ChangedOutside, Desk, ReadsOnly
from fieldmap.serve.files.draft import Draft
from fieldmap.serve.planning import Planning
from fieldmap.serve.trying import Trying
from fieldmap.show import html
from fieldmap.show.text.language import current, of_site, problem_in_words, spoken
from fieldmap.show.text.site import open_page as texts

Handler = Callable[[dict[str, Any]], Any]

# In the order in which each needs those before it.
DRAWING = (
    "place.js",
    "words.js",
    "shapes.js",
    "draft.js",
    "ground.js",
    "drawing.js",
    "sentence.js",
    "gestures.js",
    "draw.js",
)
SCRIPTS = (
    *DRAWING,
    "keeper.js",
    "questions.js",
    "planning.js",
    "what_if.js",
    "page.js",
)
# Whole, as from this machine to itself they cost nothing.
FONTS = {
    "sans.ttf": Path(sans.ROOT) / "files" / "SourceSans3[wght].ttf",
    "serif.ttf": Path(serif.ROOT) / "files" / "SourceSerif4[opsz,wght].ttf",
    "serif-italic.ttf": Path(serif.ROOT)
    / "files"
    / "SourceSerif4-Italic[opsz,wght].ttf",
}
_KINDS = {".js": "text/javascript", ".css": "text/css", ".ttf": "font/ttf"}


def page_file(name: str) -> str:
    """The text of a file of the page."""
    return (resources.files(__package__) / "page" / name).read_text("utf-8")


def filled(template: str, **places: Any) -> str:
    """A page from its template; everything is escaped but what is marked as safe."""
    return html.environment(page_file).get_template(template).render(**places)


class App:
    """The addresses of one site, behind the guard."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.desk = Desk(folder)
        self.planning = Planning(folder)
        self.trying = Trying(folder)

    @contextlib.contextmanager
    def spoken(self) -> Iterator[None]:
        """The language that the site asks for now."""
        with spoken(of_site(*language_and_units(self.folder))):
            yield

    def routes(self) -> list[Route]:
        """Every address."""
        told = self._answering
        return [
            Route("/", self.page),
            Route("/file/{name}", _file),
            Route("/map", self.map),
            Route("/begin", told(self._begin), methods=["POST"]),
            Route("/write-here", told(self._write_here), methods=["POST"]),
            Route("/leave", told(self._leave), methods=["POST"]),
            Route("/draft", told(self._keep), methods=["PUT"]),
            Route("/take-files", told(self._take_files), methods=["POST"]),
            Route("/check", told(self._check), methods=["POST"]),
            Route("/open", told(self._open), methods=["POST"]),
            Route("/save", told(self._save), methods=["POST"]),
            Route("/plan", self.plan_state, methods=["GET"]),
            Route("/plan", told(self._plan), methods=["POST"]),
            Route("/plan", told(self._stop), methods=["DELETE"]),
            Route("/try/begin", told(self._try_begin), methods=["POST"]),
            Route("/try/state", self.try_state, methods=["GET"]),
            Route("/try", told(self._try), methods=["POST"]),
            Route("/try/range", told(self._try_range), methods=["POST"]),
            Route("/try/keep", told(self._try_keep), methods=["POST"]),
        ]

    # ------------------------------------------------------------ pages
    def page(self, _request: Request) -> Response:
        """The page itself."""
        with self.spoken():
            name = self.desk.settings.name
            return HTMLResponse(
                filled(
                    "page.html",
                    name=name,
                    say=texts.say(),
                    scripts=SCRIPTS,
                    language=current(),
                )
            )

    def map(self, _request: Request) -> Response:
        """The map of the plan, as of no place: its scripts can ask nothing here."""
        if not self.planning.map_file.is_file():
            return Response(status_code=404)
        headers = {"content-security-policy": guard.POLICY_OF_MAP}
        page = self.planning.map_file.read_bytes()
        return Response(page, media_type="text/html", headers=headers)

    def plan_state(self, _request: Request) -> Response:
        """How the plan goes."""
        return JSONResponse(self.planning.state())

    def try_state(self, _request: Request) -> Response:
        """Whether changes can be tried yet."""
        with self.spoken():
            return JSONResponse(self.trying.state())

    # ------------------------------------------------------------ what is asked
    def _answering(self, handler: Handler) -> Callable[[Request], Any]:
        """An address that takes JSON, and says what is wrong in words."""

        def answer(told: dict[str, Any]) -> Response:
            with self.spoken():
                try:
                    found = handler(told)
                except (ReadsOnly, ChangedOutside, FieldmapError) as error:
                    return _refusal(error)
                except (ValidationError, KeyError, TypeError):
                    return Response(status_code=400)
                return (
                    Response(status_code=204) if found is None else JSONResponse(found)
                )

        async def endpoint(request: Request) -> Response:
            try:
                told = json.loads(await request.body() or b"{}")
            except (ValueError, RecursionError):
                return Response(status_code=400)
            if not isinstance(told, dict):
                return Response(status_code=400)
            return await run_in_threadpool(answer, told)

        return endpoint

    def _begin(self, told: dict[str, Any]) -> Any:
        writes = self.desk.begin(str(told["tab"]))
        state = self.desk.state()
        return {**state, "writes": writes, "plan": self.planning.state()}

    def _write_here(self, told: dict[str, Any]) -> Any:
        self.desk.write_here(str(told["tab"]))
        return {}

    def _leave(self, told: dict[str, Any]) -> None:
        self.desk.leave(str(told["tab"]))

    def _keep(self, told: dict[str, Any]) -> None:
        self.desk.keep(str(told["tab"]), Draft.model_validate(told["draft"]))

    def _take_files(self, told: dict[str, Any]) -> Any:
        self.desk.take_files(str(told["tab"]))
        return {}

    def _check(self, told: dict[str, Any]) -> Any:
        return {"problems": self.desk.faults(Draft.model_validate(told["draft"]))}

    def _open(self, _told: dict[str, Any]) -> Any:
        return {"open": self.desk.still_open()}

    def _save(self, told: dict[str, Any]) -> Any:
        kept = Draft.model_validate(told["draft"])
        over = [str(name) for name in told.get("over", ())]
        return self.desk.save(str(told["tab"]), kept, over)

    def _plan(self, _told: dict[str, Any]) -> Any:
        self.planning.start()
        return self.planning.state()

    def _stop(self, _told: dict[str, Any]) -> Any:
        self.planning.stop()
        return self.planning.state()

    def _try_begin(self, _told: dict[str, Any]) -> Any:
        self.trying.begin()
        return self.trying.state()

    def _try(self, told: dict[str, Any]) -> Any:
        return self.trying.first(told["change"])

    def _try_range(self, told: dict[str, Any]) -> Any:
        return self.trying.whole(told["change"])

    def _try_keep(self, told: dict[str, Any]) -> Any:
        with self.trying.as_it_is():
            return self.desk.keep_change(str(told["tab"]), told["change"])


def _refusal(error: Exception) -> Response:
    """What to answer where something may not be, or is wrong."""
    if isinstance(error, ChangedOutside):
        return JSONResponse({"changed": error.changed}, 409)
    if isinstance(error, FieldmapError):
        words = list(map(problem_in_words, error.problems))
        return JSONResponse({"problems": words}, 422)
    return Response(status_code=423)


def _file(request: Request) -> Response:
    """A script, the style sheet or the font; nothing else has an address."""
    name = request.path_params["name"]
    kind = _KINDS.get(Path(name).suffix, "")
    if name in FONTS:
        # Read whole: a page that is left while a file streams leaves it open.
        return Response(FONTS[name].read_bytes(), media_type=kind)
    if name not in (*SCRIPTS, "page.css"):
        return Response(status_code=404)
    return Response(page_file(name), media_type=f"{kind}; charset=utf-8")


def application(folder: Path, token: str, port: int) -> guard.Guard:
    """What answers the page of a site, to whom may ask."""
    inner = App(folder)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        yield
        await run_in_threadpool(inner.planning.stop)

    return guard.Guard(Starlette(routes=inner.routes(), lifespan=lifespan), token, port)
