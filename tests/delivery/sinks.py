"""What receives messages, really: SMTP with STARTTLS (aiosmtpd), HTTP, a program. And
limegate-deliver itself, to be started and killed. Everything listens on the loopback address."""
import email
import email.header
import http.server
import json
import logging
import os
import signal
import socket
import ssl
import subprocess
import threading
import time
import warnings

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

warnings.simplefilter("ignore")
logging.getLogger("mail.log").setLevel(logging.ERROR)
PASSWORD, TOKEN = "m4il-s3cret-word", "t0ken-s3cret-word"


def certificate(folder, name):
    """A certificate of its own authority for 'localhost', or for another name."""
    key, cert = f"{folder}/{name}.key", f"{folder}/{name}.pem"
    subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
                    "-keyout", key, "-out", cert, "-subj", f"/CN={name}", "-addext",
                    f"subjectAltName=DNS:{name}"], check=True, capture_output=True)
    return key, cert


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def write(path, text, mode=0o600):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    os.chmod(path, mode)


def read(path):
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read()


def within(seconds, true):
    until = time.time() + seconds
    while not true():
        if time.time() > until:
            return False
        time.sleep(0.2)
    return True


class MailSink:
    """`arrived` = (id, subject, text) of each mail."""

    def __init__(self, folder, host="localhost", starttls=True):
        self.port, self.arrived = free_port(), []
        key, cert = certificate(folder, host)
        self.ca, self.tls = cert, ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.tls.load_cert_chain(cert, key)
        self.starttls, self.controller = starttls, None

    async def handle_DATA(self, _server, _session, envelope):
        mail = email.message_from_bytes(envelope.content)
        part = next(part for part in mail.walk() if part.get_content_type() == "text/plain")
        self.arrived.append((
            mail["Message-ID"].strip("<>").split("@")[0],
            str(email.header.make_header(email.header.decode_header(mail["Subject"]))),
            part.get_payload(decode=True).decode().replace("\r\n", "\n")))
        return "250 taken"

    def auth(self, _server, _session, _envelope, mechanism, data):
        right = mechanism in ("LOGIN", "PLAIN") and data.password == PASSWORD.encode()
        return AuthResult(success=right, handled=right)

    def start(self):
        sink = self

        class Server(Controller):
            def factory(self):
                tls = {"tls_context": sink.tls, "require_starttls": True} if sink.starttls else {}
                return SMTP(sink, hostname="sink", authenticator=sink.auth,
                            auth_required=sink.starttls, auth_require_tls=sink.starttls, **tls)

        self.controller = Server(self, hostname="127.0.0.1", port=self.port)
        self.controller.start()

    def stop(self):
        if self.controller:
            self.controller.stop()
            self.controller = None


class HookSink:
    """`arrived` = (id, the CloudEvent as it came) of each request."""

    def __init__(self):
        self.port, self.arrived, self.server, self.answer = free_port(), [], None, 204
        self.tokens = set()

    def start(self):
        sink = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self):
                text = self.rfile.read(int(self.headers["Content-Length"])).decode()
                sink.tokens.add(self.headers.get("Authorization"))
                if sink.answer == 204:
                    sink.arrived.append((json.loads(text)["id"], text))
                self.send_response(sink.answer)
                self.end_headers()

            def log_message(self, *_):
                pass

        class Server(http.server.ThreadingHTTPServer):
            allow_reuse_address = True

        self.server = Server(("127.0.0.1", self.port), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        if self.server:
            self.server.shutdown()
            self.server.server_close()
            self.server = None


class ProgramSink:
    """A program of the owner's, which works or fails. `arrived` = (id, text) of each run."""

    def __init__(self, folder):
        self.path, self.folder = f"{folder}/tell", f"{folder}/told"
        os.makedirs(self.folder)
        self.stop()

    @property
    def arrived(self):
        names = sorted(name for name in os.listdir(self.folder) if not name.startswith("text."))
        return [(name.split(".")[1], read(f"{self.folder}/{name}")) for name in names]

    def _become(self, script):
        write(f"{self.path}.new", f"#!/bin/sh\nset -e\n{script}\n", 0o755)
        os.replace(f"{self.path}.new", self.path)

    def start(self):
        self._become(f'cat > "{self.folder}/text.$$"\n'
                     f'mv "{self.folder}/text.$$" "{self.folder}/$(date +%s%N).$LIMEGATE_MESSAGE_ID"')

    def stop(self):
        self._become("exit 75")


def three_ways(mail, hook, program):
    """The tables of a config that bring every message to these three."""
    return f"""
[[deliver.mail]]
name = "mail"
server = "localhost"
port = {mail.port}
user = "tank"
password_credential = "mail-password"
from = "tank@example.org"
to = "keeper@example.org"
ca_file = "{mail.ca}"
[[deliver.webhook]]
name = "hook"
url = "http://127.0.0.1:{hook.port}/secret-path"
token_credential = "hook-token"
[[deliver.program]]
name = "program"
path = "{program.path}"
"""


class Deliver:
    """Finds its credentials in `folder`."""

    def __init__(self, program, config, log, folder):
        self.command, self.log, self.child = [program, config], log, None
        self.environment = {**os.environ, "CREDENTIALS_DIRECTORY": folder}
        write(f"{folder}/mail-password", PASSWORD + "\n")
        write(f"{folder}/hook-token", TOKEN + "\n")

    def start(self):
        with open(self.log, "a", encoding="utf-8") as log:
            self.child = subprocess.Popen(self.command, stdout=log, stderr=subprocess.STDOUT,
                                          env=self.environment)

    def kill(self):
        self.child.send_signal(signal.SIGKILL)
        self.child.wait()

    def stop(self):
        if self.child and self.child.poll() is None:
            self.child.terminate()
            self.child.wait(timeout=60)
