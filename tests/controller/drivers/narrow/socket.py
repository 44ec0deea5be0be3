"""Stands in for the interpreter's `socket` where there is none: nothing is ever sent or arrives."""

AF_INET, SOCK_STREAM, SOCK_DGRAM = 2, 1, 2
SOL_SOCKET, SO_REUSEADDR, IPPROTO_IP = 1, 2, 0
IP_ADD_MEMBERSHIP, IP_MULTICAST_IF = 35, 32


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

    recvfrom = recv


def getaddrinfo(host, port):
    return [(AF_INET, SOCK_STREAM, 0, "", (host, port))]
