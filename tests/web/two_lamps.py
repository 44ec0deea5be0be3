"""A small job whose wish is not kept."""

# Invented: two lamps of which only one shall burn, each with a switch of its own that cares for no other.
CONTRADICTING = '''
[job]
title = "Two lamps"
[supply]
system = "230 V 50 Hz"
earthing = "TT"
[site]
enclosure = { width = "240 mm", height = "190 mm", depth = "90 mm" }
[wall.long]
name = "Long wall"
room = "Room"
width = "4 m"
height = "2.5 m"
[feed.light]
device = { kind = "miniature circuit-breaker", curve = "B", rating = "10 A" }
cable = { section = "1.5 mm2", length = "10 m" }
[load.red]
name = "Red lamp"
kind = "LED driver"
power = "6 W"
feed = "light"
run = { section = "1.5 mm2", length = "5 m" }
at = { wall = "long", along = "1 m", height = "ceiling" }
[load.blue]
name = "Blue lamp"
kind = "LED driver"
power = "6 W"
feed = "light"
run = { section = "1.5 mm2", length = "5 m" }
at = { wall = "long", along = "3 m", height = "ceiling" }
[switch.red]
name = "Left switch"
kind = "latching"
does = "toggle red"
at = { wall = "long", along = "1 m", height = "1.1 m" }
[switch.blue]
name = "Right switch"
kind = "latching"
does = "toggle blue"
[wish.one]
says = "red is never on while blue is on"
[board]
type = "rp2040-wifi"
[network]
broker = "none"
wifi = false
'''
