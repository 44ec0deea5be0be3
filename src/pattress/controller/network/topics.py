"""The topics of one controller. All of them begin with `pattress/NAME/`; docs/network.md lists them."""

ASK = b"/ask"


class Topics:
    """`name` is the controller's own name in the home: small letters, digits and hyphens.

    `base` stands before every topic; the page's news have none.
    """

    def __init__(self, name, keys, sensors, inputs=(), base=None):
        self.name = name
        if base is None:
            base = "pattress/{}/".format(name)
        self.availability = (base + "availability").encode()
        self.former = (base + "here").encode()        # of version 0.1: emptied at the broker, since only one topic can have the last will
        self.error = (base + "error").encode()
        self.events = (base + "events").encode()
        self.counts = (base + "counts").encode()
        self.thing = (base + "thing").encode()
        self.channels = [(base + "channel/" + key).encode() for key in keys]
        self.sensors = [(base + "sensor/" + key).encode() for key in sensors]
        self.inputs = [(base + "input/" + key).encode() for key in inputs]
        self.asks = (base + "channel/+").encode() + ASK       # the one filter that is subscribed to

    def channel_asked(self, topic):
        """Return the channel whose `ask` topic this is, -1 if none."""
        if topic.endswith(ASK):
            subject = topic[:-len(ASK)]
            for channel, known in enumerate(self.channels):
                if subject == known:
                    return channel
        return -1


def topics_of(queue, name, base=None):
    """Return the topics of a queue."""
    return Topics(name, queue.keys, [sensor[0] for sensor in queue.sensors], queue.inputs.keys if queue.inputs else (), base)
