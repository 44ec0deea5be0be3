"""The infra-red protocols by number: the stable table the plan, the board and the job file share.

A number is never reused or moved: bundles on boards and job files depend on it. New protocols are
appended. Runs on CPython and MicroPython.
"""

NONE = 0
NEC, NECX, NEC32, SAMSUNG, JVC = 1, 2, 3, 4, 5
KASEIKYO, AEHA = 6, 7
RC5, RC6, RC6A20, RC6A24, RC6A32, RC6MCE = 8, 9, 10, 11, 12, 13
SIRC12, SIRC15, SIRC20 = 14, 15, 16
SHARP, DENON, RCA = 17, 18, 19
HASH = 20
SANYO, RC5SZ = 21, 22

BIPHASE = (RC5, RC6, RC6A20, RC6A24, RC6A32, RC6MCE, RC5SZ)

# The place in each table is the protocol's number.
PROTOCOLS = (
    "none", "nec", "necx", "nec32", "samsung", "jvc", "kaseikyo", "aeha",
    "rc5", "rc6", "rc6a20", "rc6a24", "rc6a32", "rc6mce", "sirc12", "sirc15", "sirc20",
    "sharp", "denon", "rca", "hash", "sanyo", "rc5sz",
)
ADDRESS_BITS = bytes((0, 8, 16, 16, 16, 8, 28, 28, 5, 8, 4, 8, 16, 16, 5, 8, 13, 5, 5, 4, 16, 13, 7))
COMMAND_BITS = bytes((0, 8, 8, 16, 8, 8, 8, 16, 7, 8, 16, 16, 16, 15, 7, 7, 7, 8, 8, 8, 16, 8, 6))

# Check bits that a frame carries beyond its address and command (0: none, so any bits are a code).
CHECK_BITS = bytes((0, 16, 8, 0, 8, 0, 12, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 15, 15, 12, 0, 21, 0))
