"""Stands for the board's radio: on the machine's loopback, with the name server that the test names."""

STA_IF = 0
name_server = None


class WLAN:
    def __init__(self, interface):
        pass

    def isconnected(self):
        return True

    def ifconfig(self):
        return "127.0.0.1", "255.0.0.0", "127.0.0.1", name_server
