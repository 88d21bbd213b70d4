"""A server of parts of files on loopback, which can be slow, cut, lying or picky."""

import re
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Behaviour:
    """Files by path, how they are served, and what was asked."""

    def __init__(self, files):
        self.files, self.asked, self.mark = dict(files), [], '"one"'
        self.manner = "well"
        self.sends_on = {}  # from a path to an address
        self.released = threading.Event()


@contextmanager
def serving(files):
    """The address of a server, and its behaviour."""
    behaviour = Behaviour(files)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            answer(self, behaviour)

        def log_message(self, *_message):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", behaviour
    finally:
        behaviour.released.set()
        server.shutdown()
        server.server_close()


def answer(handler, behaviour):
    """One answer in the manner of the server."""
    behaviour.asked.append(handler.path)
    if handler.path in behaviour.sends_on:
        handler.send_response(302)
        handler.send_header("Location", behaviour.sends_on[handler.path])
        handler.send_header("Content-Length", "0")
        handler.end_headers()
        return
    content = behaviour.files.get(handler.path)
    if content is None:
        handler.send_error(404)
        return
    first, last = map(int, re.findall(r"\d+", handler.headers["Range"]))
    last = min(last, len(content) - 1)
    part = content[first : last + 1]
    manner = behaviour.manner
    if manner in {"whole", "made while sent"}:
        handler.send_response(200)
        part = content
    else:
        handler.send_response(206)
        at = first + 1 if manner == "elsewhere" else first
        size = len(content) + (first if manner == "grows" else 0)
        handler.send_header("Content-Range", f"bytes {at}-{last}/{size}")
    if manner != "made while sent":
        handler.send_header("Content-Length", str(len(part)))
    handler.send_header("ETag", behaviour.mark)
    handler.end_headers()
    if manner == "cut":
        part = part[: len(part) // 2]
    if manner == "silent":
        behaviour.released.wait(5)
        return
    handler.wfile.write(part)
