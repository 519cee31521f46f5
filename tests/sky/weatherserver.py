"""A server on this machine that answers as a forecast service would, or as it should not."""

import threading
from contextlib import contextmanager
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from stillwing.sky.forecast import OPEN_METEO


class Answers(BaseHTTPRequestHandler):
    def do_GET(self):
        self.server.asked.append((self.path, self.headers))
        self.server.answer(self)

    def log_message(self, *parts):
        pass

    def send(self, body, status=200, kind="application/json", length=None):
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body) if length is None else length))
        self.end_headers()
        self.wfile.write(body)


@contextmanager
def serving(answer):
    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    server.answer, server.asked = answer, []
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def service_at(server, like=OPEN_METEO):
    return replace(like, url=f"http://127.0.0.1:{server.server_port}/v1/forecast")
