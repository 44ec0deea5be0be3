"""Stands in for the interpreter's `socket` where there is none: nothing is ever sent or arrives.

As with the official firmware, somebody else answers for the host name and keeps the port of multicast DNS.
"""

AF_INET, SOCK_STREAM, SOCK_DGRAM = 2, 1, 2
SOL_SOCKET, SO_REUSEADDR, IPPROTO_IP = 1, 2, 0
IP_ADD_MEMBERSHIP, IP_MULTICAST_IF = 35, 32
KEPT = 5353


class socket:
    def __init__(self, *kind):
        pass

    def __getattr__(self, name):
        return self._nothing

    def _nothing(self, *given):
        return None

    def recv(self, length):
        raise OSError(11)

    def connect(self, address):
        raise OSError(115)              # under way, for ever

    def accept(self):
        raise OSError(11)

    def bind(self, address):
        if address[1] == KEPT:
            raise OSError(98)

    recvfrom = recv


def getaddrinfo(host, port):
    return [(AF_INET, SOCK_STREAM, 0, "", (host, port))]
