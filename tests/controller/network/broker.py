"""Brokers for the tests: a real one on loopback, and one that does what the test says."""

import shutil
import socket
import subprocess
import threading
import time
from contextlib import contextmanager

import paho.mqtt.client as paho


def free_port():
    with socket.socket() as link:
        link.bind(("127.0.0.1", 0))
        return link.getsockname()[1]


@contextmanager
def mosquitto(folder, tls=None):
    """Run Debian's `mosquitto` on loopback; yield its port. `tls` holds ca, certificate and key files."""
    program = shutil.which("mosquitto", path="/usr/sbin:/usr/bin:/usr/local/sbin")
    assert program, "the Debian package mosquitto is not installed"
    port = free_port()
    lines = [f"listener {port} 127.0.0.1", "allow_anonymous true", "persistence false", "log_dest stderr", "user root"]
    if tls:
        lines += [f"cafile {tls['ca']}", f"certfile {tls['certificate']}", f"keyfile {tls['key']}"]
    settings = folder / f"broker-{port}.conf"
    settings.write_text("\n".join(lines) + "\n", "utf-8")
    with (folder / f"broker-{port}.log").open("wb") as log:
        process = subprocess.Popen([program, "-c", str(settings)], stderr=log, stdout=log)
    try:
        wait_for_port(port, process)
        yield port
    finally:
        process.terminate()
        process.wait(10)


def wait_for_port(port, process=None):
    """Return when somebody listens there."""
    for _ in range(200):
        assert process is None or process.poll() is None, "mosquitto stopped at once"
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.02)
    raise AssertionError(f"nobody listens at port {port}")


class Peer:
    """Somebody else on the broker, by an independent library: hears everything of one controller, can ask."""

    def __init__(self, port, name="home", tls=None):
        self.heard = []         # (topic below the controller's, payload, retained), in order
        self._arrived = threading.Condition()
        self._base = f"pattress/{name}/"
        self._client = paho.Client(paho.CallbackAPIVersion.VERSION2, client_id=f"peer-{time.monotonic_ns()}")
        if tls:
            self._client.tls_set(ca_certs=tls["ca"])
        self._client.on_message = self._on_message
        ready = threading.Event()
        self._client.on_subscribe = lambda *_: ready.set()
        self._client.connect("127.0.0.1" if not tls else "localhost", port)
        self._client.loop_start()
        self._client.subscribe(self._base + "#", 1)
        assert ready.wait(10)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._client.disconnect()
        self._client.loop_stop()

    def _on_message(self, client, told, message):
        with self._arrived:
            self.heard.append((message.topic.removeprefix(self._base), message.payload, message.retain))
            self._arrived.notify_all()

    def ask(self, topic, payload, qos=1, retain=False):
        self._client.publish(self._base + topic, payload, qos, retain)

    def wait(self, matches, seconds=15):
        """Return the first message, from now or before, that matches."""
        with self._arrived:
            assert self._arrived.wait_for(lambda: any(matches(*one) for one in self.heard), seconds), self.heard
            return next(one for one in self.heard if matches(*one))

    def payloads(self, topic):
        return [payload for heard, payload, _ in self.heard if heard == topic]


class Odd:
    """A broker that does what `behave(link)` does, for each connection in turn."""

    def __init__(self, behave):
        self._behave, self._links = behave, []
        self.connections = 0
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port = self._door.getsockname()[1]

    def __enter__(self):
        threading.Thread(target=self._serve, daemon=True).start()
        return self

    def __exit__(self, *_):
        self._door.close()
        for link in self._links:
            link.close()

    def _serve(self):
        while True:
            try:
                link, _ = self._door.accept()
            except OSError:
                return
            self.connections += 1
            self._links.append(link)
            threading.Thread(target=self._one, args=(link,), daemon=True).start()

    def _one(self, link):
        try:
            self._behave(link)
        except OSError:
            pass


class NameServer:
    """A name server on loopback that knows these names, or behaves otherwise."""

    def __init__(self, names, behave="answer"):
        self._names, self._behave = names, behave
        self._link = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._link.bind(("127.0.0.1", 0))
        self.port = self._link.getsockname()[1]
        self.address = f"127.0.0.1:{self.port}"
        self.asked = 0

    def __enter__(self):
        threading.Thread(target=self._serve, daemon=True).start()
        return self

    def __exit__(self, *_):
        self._link.close()

    def _serve(self):
        while True:
            try:
                packet, source = self._link.recvfrom(512)
            except OSError:
                return
            self.asked += 1
            if self._behave == "answer":
                self._link.sendto(self._answer(packet), source)
            elif self._behave == "wrong number":
                self._link.sendto(bytes((packet[0] ^ 1,)) + self._answer(packet)[1:], source)
            elif self._behave == "other name":
                self._link.sendto(self._answer(packet).replace(b"broker", b"bother"), source)
            elif self._behave == "question only":
                self._link.sendto(packet, source)
            elif self._behave == "noise":
                self._link.sendto(packet[:2] + bytes(range(128, 200)), source)

    def _answer(self, packet):
        labels, at = [], 12
        while packet[at]:
            labels.append(packet[at + 1:at + 1 + packet[at]].decode())
            at += 1 + packet[at]
        address = self._names.get(".".join(labels))
        head = packet[:2] + (b"\x81\x80" if address else b"\x81\x83") + b"\x00\x01" + (b"\x00\x01" if address else b"\x00\x00") + bytes(4)
        record = b"\xc0\x0c\x00\x01\x00\x01" + bytes((0, 0, 0, 60, 0, 4)) + socket.inet_aton(address) if address else b""
        return head + packet[12:at + 5] + record
