"""A server over a data folder, and a person with an account who asks it."""

import contextlib
import http.client
import json
import subprocess
import time
import urllib.parse

import folder

PASSWORD = "a long enough password"
PATIENCE_S = 120


class Reviewer:
    """Somebody who is signed in."""

    def __init__(self, address):
        self.address = address
        self.cookie = ""
        body = json.dumps({"name": "A. Reviewer", "password": PASSWORD})
        answer, _ = self.ask("POST", "/api/review/session", body)
        self.cookie = answer.getheader("set-cookie").split(";")[0]

    def ask(self, method, path, body=None):
        line = http.client.HTTPConnection(self.address, timeout=PATIENCE_S)
        line.request(method, path, body, {"Cookie": self.cookie, "Content-Type": "application/json"})
        answer = line.getresponse()
        content = answer.read()
        if answer.status >= 300:
            raise SystemExit(f"{method} {path}: {answer.status} {content.decode()}")
        return answer, content

    def get(self, path, **asked):
        return self.ask("GET", f"{path}?{urllib.parse.urlencode(asked)}")[1]

    def trends(self, **asked):
        """The trends, once every code has its line."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            answer = json.loads(self.get("/api/review/trends", **asked))
            if answer["unfinished"] == 0:
                return answer
        raise SystemExit("the server did not finish its lines")


@contextlib.contextmanager
def reviewer(data):
    add = [folder.BINARY, "account", "add", "--name", "A. Reviewer", "--data", str(data)]
    subprocess.run(add, input=PASSWORD + "\n", text=True, check=True, stdout=subprocess.DEVNULL)
    serve = [folder.BINARY, "serve", "--data", str(data), "--listen", "127.0.0.1:0"]
    server = subprocess.Popen(serve, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        first = server.stdout.readline()
        yield Reviewer(urllib.parse.urlsplit(first.split()[-1]).netloc)
    finally:
        server.terminate()
        server.wait()
