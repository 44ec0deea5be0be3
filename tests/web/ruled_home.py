"""A home with rules of every kind, invented: a bath, its heater and fan, a well with its pump, a porch."""

HOME = '''
[job]
title = "Bath and well"
[supply]
system = "230 V 50 Hz"
earthing = "TT"
[feed.all]
device = { kind = "miniature circuit-breaker", curve = "B", rating = "16 A" }
cable = { section = "2.5 mm2", length = "10 m" }
[load.bath]
name = "Bath light"
kind = "LED driver"
power = "12 W"
feed = "all"
run = { section = "1.5 mm2", length = "5 m" }
[load.heater]
name = "Panel heater"
kind = "resistive heater"
power = "1 kW"
feed = "all"
run = { section = "1.5 mm2", length = "5 m" }
[load.pump]
name = "Well pump"
kind = "motor"
power = "300 W"
feed = "all"
run = { section = "1.5 mm2", length = "15 m" }
[load.porch]
name = "Porch lamp"
kind = "LED driver"
power = "6 W"
feed = "all"
run = { section = "1.5 mm2", length = "8 m" }
[fan.extract]
name = "Extract fan"
motor = "unknown"
power = "40 W"
steps = 2
feed = "all"
run = { section = "1.5 mm2", length = "5 m" }
[switch.bath]
name = "Bath switch"
kind = "latching"
does = ["toggle bath", "off heater"]
[switch.leaving]
name = "At the door"
kind = "retractive"
does = "off everything"
[regulator.extract]
name = "Fan regulator"
fan = "extract"
positions = 2
[remote.hand]
name = "Hand remote"
button.up = { code = "nec 0x04:0x08", does = "up extract" }
button.fast = { code = "nec 0x04:0x09", does = "set extract 2" }
button.lamp = { code = "unknown", does = "toggle porch" }
[input.window]
name = "Bath window"
kind = "window"
[input.leak]
name = "Leak at the well"
kind = "leak"
[input.reset]
name = "Reset key"
kind = "switch"
[sensor.room]
name = "Bath sensor"
kind = "22 class"
[sensor.outside]
name = "Outdoor sensor"
kind = "22 class"
[board]
type = "rp2040-wifi"
[network]
broker = "none"
'''
SAYS = {
    "airing": "extract is on while bath is on, from 2 min, and for 15 min after",
    "damp": "pump is on only while room is damper than outside by 3 g/m3, until 1.5 g/m3",
    "dry": "pump stays off once leak was closed for 1 s, until reset is closed for 2 s",
    "frost": "heater is on while room is below 5 degC, until 6 degC",
    "hand": "heater is put on at the wall only",
    "iron": "heater is on for at most 30 min",
    "night": "while reset is open, the rules of extract rest",
    "open": "when window opens, off heater",
    "porch": "porch is on for 3 min, anew at each asking",
    "stale": "when window has been closed for 10 min, set extract 1",
    "wet": "heater stays off while room is above 80 %, until 70 %",
}


def ruled(*without: str) -> str:
    """Return the job with all these rules but some."""
    return HOME + "".join(f'[rule.{key}]\nsays = "{says}"\n' for key, says in SAYS.items() if key not in without)
