"""The size to which a proof with rules must stay quick: twelve channels, two of them fans, and thirty rules of all kinds."""

from pattress.design.plan import plan_table
from pattress.job import read
from tests.job.rule_sets import home_text, with_rules
from tests.sizing.invented import drives

LOADS = ("bath", "hall", "stairs", "porch", "iron", "heater", "towel_rail", "pump", "boiler", "extract")
FANS = {"study": 4, "bedroom": 3}
INPUTS = {"window": "window", "door": "door", "motion": "presence", "well": "float", "leak": "leak", "reset": "switch", "away": "switch"}
SENSORS = ("bathroom", "outside", "room")

JOB = home_text("Ten loads, two fans and their rules", LOADS, FANS, INPUTS, dict.fromkeys(SENSORS, "22 class")) + "".join(f"""
[switch.{key}]
name = "{key.title()}"
kind = "retractive"
does = "{'on' if key == 'stairs' else 'toggle'} {key}"
""" for key in LOADS) + "".join(f"""
[regulator.{key}]
name = "{key.title()}"
fan = "{key}"
positions = {steps}
""" for key, steps in FANS.items()) + """
[remote.sofa]
name = "Sofa"

[remote.sofa.button]
leaving = { code = "nec 0x04:0x01", does = "off everything" }
faster = { code = "nec 0x04:0x02", does = "up study" }
slower = { code = "nec 0x04:0x03", does = "down study" }
calm = { code = "nec 0x04:0x04", does = "off bedroom" }
"""

RULES = (
    "iron is on for at most 30 min", "stairs is on for 3 min, anew at each asking", "extract is on while bath is on, from 2 min, and for 15 min after",
    "heater is on while room is below 19 degC, until 20 degC", "pump stays off while well is open, and for 20 min after",
    "iron is put on at the wall only", "extract is on while bathroom is damper than outside by 3 g/m3, until 1.5 g/m3", "when window opens, off heater",
    "boiler is on only while pump is on", "pump stays off once leak was closed for 1 s, until reset is closed for 2 s",
    "while away is closed, the rules of porch rest", "porch is on while motion is closed, and for 10 min after", "study is at step 2 while room is above 27 degC, until 25.5 degC",
    "bath is on for at most 1 h", "heater is on for at most 4 h", "when away closes, off everything", "towel_rail is on for 2 h", "hall is on while door is open, and for 2 min after",
    "when stairs goes off, off porch", "bedroom is at step 1 while room is above 26 degC, until 24 degC", "heater stays off while window is open, from 30 s",
    "when motion has been open for 30 min, off hall", "towel_rail is put on at the wall only", "extract is on for at most 6 h", "while bath is on, the rules of hall rest",
    "study is on only while window is closed", "when bath has been on for 45 min, on hall", "bedroom is on for at most 8 h", "boiler is on for at most 3 h", "when leak closes, off boiler",
)


def crowded(number):
    """Return the plan of the job with its first rules, so many of them."""
    job = read(with_rules(RULES[:number], JOB), "crowded.toml")[0]
    return plan_table(job, drives(job), {}, {})
