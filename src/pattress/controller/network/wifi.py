"""The radio: joins the home's Wi-Fi and stays joined.

The thinnest edge there is, for nothing of it can run without the board's radio: it was not
run on hardware. `radio` is a WLAN object of the board's own `network` module.
"""

import asyncio

from .reach import any_chance, pause

JOIN_S = 20             # a join takes so long at most, then it is begun anew


async def keep_joined(radio, ssid, key, name, queue):
    """Join, wait until the connection is lost, and join again, until cancelled."""
    failures = 0
    try:
        radio.config(hostname=name)     # before it is active: MicroPython documentation, `network.hostname`
    except (OSError, ValueError):       # a port without host names
        pass
    radio.active(True)
    while True:
        radio.connect(ssid, key)
        for _ in range(JOIN_S * 4):
            if radio.isconnected():
                break
            await asyncio.sleep(0.25)
        if radio.isconnected():
            failures = 0
            queue.link(True, 1)
            while radio.isconnected():
                await asyncio.sleep(1)
            queue.link(False, 1)
        radio.disconnect()
        failures += 1
        await asyncio.sleep(pause(failures, any_chance()))
