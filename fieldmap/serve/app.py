"""What answers the page: each address, and what it may say."""

import contextlib
import traceback
from collections.abc import AsyncIterator, Callable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

import fontpkg_source_sans_3 as sans
import fontpkg_source_serif_4 as serif
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from fieldmap.errors import FieldmapError
from fieldmap.read import door, language_and_units
from fieldmap.serve import guard
from fieldmap.serve.asked import (
    Change,
    Drafted,
    Holding,
    Named,
    OfTab,
    Question,
    Saving,
)
from fieldmap.serve.desk import ChangedOutside, Desk, ReadsOnly
from fieldmap.serve.planning import Planning
from fieldmap.serve.trying import BROKEN, NotReady, Trying
from fieldmap.show import html
from fieldmap.show.text.language import current, of_site, problem_in_words, spoken
from fieldmap.show.text.site import open_page as texts

Asked = TypeVar("Asked", bound=Question)

# In the order in which each needs those before it.
DRAWING = (
    "place.js",
    "words.js",
    "shapes.js",
    "draft.js",
    "ground.js",
    "drawing.js",
    "downhill.js",
    "sentence.js",
    "gestures.js",
    "draw.js",
)
SCRIPTS = (
    *DRAWING,
    "background.js",
    "keeper.js",
    "questions.js",
    "planning.js",
    "standing.js",
    "air.js",
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
MAP = "plan/map.html"
MOST_BYTES_OF_MAP = 200_000_000
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
        self.trying = Trying(folder, self.desk.drafted)

    @contextlib.contextmanager
    def spoken(self) -> Iterator[None]:
        """The language that the site asks for now."""
        with spoken(of_site(*language_and_units(self.folder))):
            yield

    def routes(self) -> list[Route]:
        """Every address."""
        answer = self._answering
        return [
            Route("/", self.page),
            Route("/file/{name}", _file),
            Route("/map", self.map),
            Route("/begin", answer(self._begin, OfTab), methods=["POST"]),
            Route("/write-here", answer(self._write_here, OfTab), methods=["POST"]),
            Route("/leave", answer(self._leave, OfTab), methods=["POST"]),
            Route("/draft", answer(self._keep, Drafted), methods=["PUT"]),
            Route("/take-files", answer(self._take_files, OfTab), methods=["POST"]),
            Route("/check", answer(self._check, Holding), methods=["POST"]),
            Route("/open", answer(self._open, Question), methods=["POST"]),
            Route("/save", answer(self._save, Saving), methods=["POST"]),
            Route("/plan", self.plan_state, methods=["GET"]),
            Route("/plan", answer(self._plan, Question), methods=["POST"]),
            Route("/plan", answer(self._stop, Question), methods=["DELETE"]),
            Route("/try/begin", answer(self._try_begin, Question), methods=["POST"]),
            Route("/try/state", self.try_state, methods=["GET"]),
            Route("/try", answer(self._try, Change), methods=["POST"]),
            Route("/try/range", answer(self._try_range, Change), methods=["POST"]),
            Route("/try/keep", answer(self._try_keep, Named), methods=["POST"]),
        ]

    # ------------------------------------------------------------ pages
    def page(self, _request: Request) -> Response:
        """The page itself."""
        with self.spoken():
            settings = self.desk.settings
            page = filled(
                "page.html",
                name=settings.name,
                say=texts.say(),
                scripts=SCRIPTS,
                language=current(),
            )
        rules = guard.policy(settings.map.background_host)
        return HTMLResponse(page, headers={"content-security-policy": rules})

    def map(self, _request: Request) -> Response:
        """The map of the plan, as of no place: its scripts can ask nothing here."""
        try:
            file = door.open_file(self.folder, MAP, MOST_BYTES_OF_MAP)
        except FieldmapError:
            return Response(status_code=404)
        headers = {"content-security-policy": guard.POLICY_OF_MAP}
        page = file.path.read_bytes()
        return Response(page, media_type="text/html", headers=headers)

    def plan_state(self, _request: Request) -> Response:
        """How the plan goes."""
        return JSONResponse(self.planning.state())

    def try_state(self, _request: Request) -> Response:
        """Whether changes can be tried yet."""
        with self.spoken():
            return JSONResponse(self.trying.state())

    # ------------------------------------------------------------ what is asked
    def _answering(
        self, handler: Callable[[Asked], Any], model: type[Asked]
    ) -> Callable[[Request], Any]:
        """An address that takes JSON of a model, and says what is wrong in words.

        What else goes wrong is ours: the browser gets a sentence, and whoever runs the command
        sees where.
        """

        def answer(asked: Asked) -> Response:
            with self.spoken():
                try:
                    found = handler(asked)
                except (ReadsOnly, ChangedOutside, NotReady, FieldmapError) as error:
                    return _refusal(error)
                return (
                    Response(status_code=204) if found is None else JSONResponse(found)
                )

        async def endpoint(request: Request) -> Response:
            try:
                asked = model.model_validate_json(await request.body() or b"{}")
            except (ValidationError, ClientDisconnect):
                return Response(status_code=400)
            return await run_in_threadpool(answer, asked)

        return endpoint

    def _begin(self, asked: OfTab) -> Any:
        writes = self.desk.begin(asked.tab)
        state = self.desk.state()
        return {**state, "writes": writes, "plan": self.planning.state()}

    def _write_here(self, asked: OfTab) -> Any:
        self.desk.write_here(asked.tab)
        return {}

    def _leave(self, asked: OfTab) -> None:
        self.desk.leave(asked.tab)

    def _keep(self, asked: Drafted) -> None:
        self.desk.keep(asked.tab, asked.draft)

    def _take_files(self, asked: OfTab) -> Any:
        self.desk.take_files(asked.tab)
        return {}

    def _check(self, asked: Holding) -> Any:
        return {"problems": self.desk.faults(asked.draft)}

    def _open(self, _asked: Question) -> Any:
        return {"open": self.desk.still_open()}

    def _save(self, asked: Saving) -> Any:
        return self.desk.save(asked.tab, asked.draft, asked.over)

    def _plan(self, _asked: Question) -> Any:
        self.planning.start()
        return self.planning.state()

    def _stop(self, _asked: Question) -> Any:
        self.planning.stop()
        return self.planning.state()

    def _try_begin(self, _asked: Question) -> Any:
        self.trying.begin()
        return self.trying.state()

    def _try(self, asked: Change) -> Any:
        return self.trying.first(asked.change, asked.called)

    def _try_range(self, asked: Change) -> Any:
        return self.trying.whole(asked.change, asked.called)

    def _try_keep(self, asked: Named) -> Any:
        with self.trying.as_it_is():
            return self.desk.keep_change(asked.tab, asked.change)


def _refusal(error: Exception) -> Response:
    """What to answer where something may not be, or is wrong."""
    if isinstance(error, ChangedOutside):
        return JSONResponse({"changed": error.changed}, 409)
    if isinstance(error, NotReady):
        return JSONResponse(error.state, 409)
    if isinstance(error, FieldmapError):
        words = list(map(problem_in_words, error.problems))
        return JSONResponse({"problems": words}, 422)
    return Response(status_code=423)


def _broken(_request: Request, error: Exception) -> Response:
    """What to answer where a mistake is ours; whoever runs the command sees where."""
    traceback.print_exception(error)
    return JSONResponse({"problems": [problem_in_words(BROKEN)]}, 500)


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
    """What answers the page of a site, to whom may ask.

    Parameters
    ----------
    folder
        Of the site.
    token
        Secret part of the address; who asks without it is refused.
    port
        On which it is served: part of what a browser calls host and origin.
    """
    inner = App(folder)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        yield
        await run_in_threadpool(inner.planning.stop)

    refusals = {Exception: _broken}
    made = Starlette(
        routes=inner.routes(), lifespan=lifespan, exception_handlers=refusals
    )
    return guard.Guard(made, token, port)
