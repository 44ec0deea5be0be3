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
    """`fields` holds the header fields that matter here, names in small letters, and the address of the `peer`; `body` is bytes."""

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
    """Takes bytes as they come until there is one whole request.

    A line of the head is judged as soon as it is there, and of its fields only those that matter are held: so the work
    for each part that comes is small, and so is what anybody can make the board hold.
    """

    def __init__(self):
        self._data, self._request, self._is_headed = b"", None, False
        self._size = self._lines = 0        # of the head, up to here

    def feed(self, data):
        """Return the request once it is whole, None before. Raises BadRequest."""
        self._data += data
        while not self._is_headed:
            end = self._data.find(b"\r\n")
            if self._size + (len(self._data) if end < 0 else end) > HEAD_LIMIT + 2:
                raise BadRequest(431, "the head is too long")
            if end < 0:
                return None
            line, self._data = self._data[:end], self._data[end + 2:]
            self._size += end + 2
            self._take(line)
        request = self._request
        if len(self._data) < request.length and not request.is_streamed:
            return None
        request.body = self._data[:request.length]     # what follows is not looked at: one request a connection
        return request

    def _take(self, line):
        """Take a line of the head, the empty one at its end too."""
        if line and (min(line.replace(b"\t", b" ")) < 32 or b"\x7f" in line):
            raise BadRequest(400, "a control character in the head")
        request = self._request
        if request is None:
            method, path, self._version = _request_line(line)
            self._request = Request(method, path, {})
        elif line:
            self._lines += 1
            if self._lines > FIELD_LIMIT:
                raise BadRequest(431, "too many header fields")
            name, value = _field(line)
            if name == "transfer-encoding":
                raise BadRequest(501, "a body of unknown length is not taken")
            if name == "expect" and (request.path != STREAM or value.lower() != "100-continue"):
                raise BadRequest(417, "nothing may be expected")
            if name in KEPT:
                if name in request.fields:
                    raise BadRequest(400, "{} is there twice".format(name))
                request.fields[name] = value
        else:
            if self._version == "HTTP/1.1" and "host" not in request.fields:
                raise BadRequest(400, "the host is missing")
            request.length = body_length(request)
            self._is_headed = True


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
    if max(line) > 126 or b"\t" in line:
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
    if name.strip(_NAME):
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
