"""Serves a folder as a common web server does: compressed, under a sub-path, with a cache. For measuring only."""

import gzip
import sys
from functools import cache, partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

COMPRESSED = {".html", ".css", ".js", ".json", ".svg", ".csv"}


@cache
def compressed(path):
    return gzip.compress(Path(path).read_bytes(), mtime=0)


class Handler(SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_GET(self):
        path = Path(self.translate_path(self.path))
        if path.is_dir():
            path /= "index.html"
        if not path.is_file():
            return self.send_error(404)
        packed = path.suffix in COMPRESSED
        content = compressed(str(path)) if packed else path.read_bytes()
        self.send_response(200)
        self.send_header("Content-Type", f"{self.guess_type(str(path))}; charset=utf-8")
        if packed:
            self.send_header("Content-Encoding", "gzip")
        self.send_header("Cache-Control", "max-age=3600")
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)
        return None

    def log_message(self, *_arguments):
        pass


def main():
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Handler, directory=sys.argv[1]))
    print(server.server_address[1], flush=True)
    server.serve_forever()


if __name__ == "__main__":
    main()
