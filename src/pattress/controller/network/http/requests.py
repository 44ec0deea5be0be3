"""One HTTP/1.1 request out of bytes that anybody may have sent. Pure.

RFC 9110 and RFC 9112 (from memory). Only what the page needs: GET, HEAD and POST, a body of
known length. What can be read in two ways is refused, not guessed.
"""

HEAD_LIMIT = 2048       # request line and header fields together [B]
BODY_LIMIT = 512
STREAM, STREAM_LIMIT = "/program", 524_288      # the one path whose body is taken as it comes, and its length
FIELD_LIMIT = 40        # header fields in one request
TARGET_LIMIT = 96

METHODS = ("GET", "HEAD", "POST")
KEPT = ("host", "content-type", "content-length", "cookie", "origin", "sec-fetch-site", "expect", "announcement")
FORM, JSON = "application/x-www-form-urlencoded", "application/json"

_NAME = b"!#$%&'*+-.^_`|~0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"


class BadRequest(Exception):
    """A request that is answered with `status` and nothing else."""

    def __init__(self, status, reason):
        super().__init__(reason)
        self.status, self.reason = status, reason


class Request:
    """`fields` holds the header fields that matter here, names in small letters; `body` is bytes."""

    def __init__(self, method, path, fields):
        self.method, self.path, self.fields, self.body = method, path, fields, b""
        self.length = 0         # of the body, as the head says
        self.read = None        # for a body that is taken as it comes: gives the rest of it
        self.go_on = None       # and lets it come, when the head has proven who sends it

    @property
    def is_streamed(self):
        return self.method == "POST" and self.path == STREAM

    def kind(self):
        """Return the media type of the body without its parameters."""
        return self.fields.get("content-type", "").partition(";")[0].strip().lower()

    def cookie(self, name):
        """Return the value of a cookie, "" when there is none."""
        for pair in self.fields.get("cookie", "").split(";"):
            key, _, value = pair.strip().partition("=")
            if key == name:
                return value
        return ""


class Reader:
    """Takes bytes as they come until there is one whole request. Holds no more than the limits."""

    def __init__(self):
        self._data = b""
        self._request = None
        self._length = 0

    def feed(self, data):
        """Return the request once it is whole, None before. Raises BadRequest."""
        self._data += data
        if self._request is None:
            end = self._data.find(b"\r\n\r\n")
            if end > HEAD_LIMIT or (end < 0 and len(self._data) > HEAD_LIMIT):
                raise BadRequest(431, "the head is too long")
            if end < 0:
                return None
            self._request = head(self._data[:end])
            self._length = self._request.length = body_length(self._request)
            self._data = self._data[end + 4:]
        if len(self._data) < self._length and not self._request.is_streamed:
            return None
        self._request.body = self._data[:self._length]     # what follows is not looked at: one request a connection
        return self._request


def head(data):
    """Return the request that a head, without its empty line, begins. Raises BadRequest."""
    lines = data.split(b"\r\n")
    if len(lines) > FIELD_LIMIT + 1:
        raise BadRequest(431, "too many header fields")
    for line in lines:
        for byte in line:
            if byte < 32 and byte != 9 or byte == 127:
                raise BadRequest(400, "a control character in the head")
    method, path, version = _request_line(lines[0])
    fields = {}
    for line in lines[1:]:
        name, value = _field(line)
        if name == "transfer-encoding":
            raise BadRequest(501, "a body of unknown length is not taken")
        if name == "expect" and (path != STREAM or value.lower() != "100-continue"):
            raise BadRequest(417, "nothing may be expected")
        if name in KEPT:
            if name in fields:
                raise BadRequest(400, "{} is there twice".format(name))
            fields[name] = value
    if version == "HTTP/1.1" and "host" not in fields:
        raise BadRequest(400, "the host is missing")
    return Request(method, path, fields)


def body_length(request):
    """Return how many bytes of body follow. Raises BadRequest."""
    length = request.fields.get("content-length")
    if length is None:
        if request.method == "POST":
            raise BadRequest(411, "the length of the body is missing")
        return 0
    if not length.isdigit() or len(length) > 6:
        raise BadRequest(400, "the length of the body is no number")
    limit = STREAM_LIMIT if request.is_streamed else BODY_LIMIT
    if int(length) > limit:
        raise BadRequest(413, "the body is longer than {} bytes".format(limit))
    return int(length)


def form(body):
    """Return the fields of an urlencoded form; what is not of that form is left out."""
    found = {}
    for pair in body.split(b"&")[:8]:
        name, _, value = pair.partition(b"=")
        name, value = _decoded(name), _decoded(value)
        if name and value is not None:
            found[name] = value
    return found


def _request_line(line):
    parts = line.split(b" ")
    if len(parts) != 3:
        raise BadRequest(400, "the request line has not three parts")
    for part in parts:
        for byte in part:
            if not 33 <= byte <= 126:
                raise BadRequest(400, "the request line holds more than plain letters")
    method, path, version = [part.decode() for part in parts]
    if version not in ("HTTP/1.1", "HTTP/1.0"):
        raise BadRequest(505, "the version is neither HTTP/1.1 nor HTTP/1.0")
    if method not in METHODS:
        raise BadRequest(501, "the method is none of GET, HEAD and POST")
    if not path.startswith("/") or len(path) > TARGET_LIMIT:
        raise BadRequest(400, "the path does not begin with / or is too long")
    return method, path, version


def _field(line):
    name, colon, value = line.partition(b":")
    if not colon or not name:
        raise BadRequest(400, "a header field without a name")
    for byte in name:
        if byte not in _NAME:
            raise BadRequest(400, "a header field with an odd name")
    try:
        return name.decode().lower(), value.strip(b" \t").decode()
    except UnicodeError:
        raise BadRequest(400, "a header field that is not UTF-8")


def _decoded(content):
    """Return urlencoded bytes as text, None when they are not."""
    plain, at = bytearray(), 0
    while at < len(content):
        byte = content[at]
        if byte == 37:                  # %
            try:
                byte = int(content[at + 1:at + 3].decode(), 16)
            except ValueError:
                return None
            at += 2
        elif byte == 43:                # +
            byte = 32
        plain.append(byte)
        at += 1
    try:
        return bytes(plain).decode()
    except UnicodeError:
        return None
