"""What comes back over a plain socket."""


def answered(link, seconds=10):
    """Return all that comes until the other side closes the connection."""
    link.settimeout(seconds)
    back = b""
    try:
        while part := link.recv(4096):
            back += part
    except ConnectionResetError:
        pass
    return back
