# Runs under MicroPython before the flash's own main.py; `world` is JSON. No name of it stays but in `sys.modules`.
import json, os, sys, vfs, time

class Machine:
    PWRON_RESET, HARD_RESET, WDT_RESET, SOFT_RESET = 1, 2, 3, 4
    def __init__(self, world):
        self.world, self.level = world, {}
        machine = self
        class Pin:
            IN, OUT, OPEN_DRAIN, PULL_UP, IRQ_FALLING, IRQ_RISING = 0, 1, 2, 3, 1, 2
            def __init__(self, number, mode, pull=None, value=None):
                self.number = number
                machine.level.setdefault(number, 1)
                if value is not None:
                    machine.level[number] = value
            def value(self, new=None):
                if new is None:
                    return machine.level[self.number]
                machine.level[self.number] = new
            def irq(self, handler, trigger, hard=False):
                pass
        class WDT:
            def __init__(self, timeout):
                pass
            def feed(self):
                pass
        class Timer:
            PERIODIC = 1
            def __init__(self, number, period, mode, callback, hard=False):
                if hard:
                    raise ValueError("no such timer")
            def deinit(self):
                pass
        self.Pin, self.WDT, self.Timer = Pin, WDT, Timer
    def reset(self):
        print("reset now")              # and whoever plays the power ends this life
        while True:
            time.sleep(1)
    def reset_cause(self):
        return self.world["cause"]
    def time_pulse_us(self, pin, wanted, most):
        return -2

class Os:
    def __init__(self, real, chip):
        self._real, self._chip = real, chip
    def __getattr__(self, name):
        return getattr(self._real, name)
    def uname(self):
        class Name:
            machine = "Simulated board with " + self._chip
        return Name

class Flash:
    # Sectors in a file. After `left` operations the power is gone, in the middle of the last one.
    def __init__(self, name, left):
        self.file, self.left = open(name, "r+b"), left
        self.sectors = self.file.seek(0, 2) // 4096
    def readblocks(self, block, buffer, offset=0):
        self.file.seek(block * 4096 + offset)
        self.file.readinto(buffer)
    def writeblocks(self, block, buffer, offset=0):
        self.file.seek(block * 4096 + offset)
        self.file.write(buffer)
        self.file.flush()
    def ioctl(self, operation, argument):
        if operation == 4:
            return self.sectors
        if operation == 5:
            return 4096
        return 0

world = json.loads(world)
sys.modules["machine"] = Machine(world)
flash = Flash(world["flash"], world.get("cut", -1))
try:
    mounted = vfs.VfsLfs2(flash)
except OSError:
    vfs.VfsLfs2.mkfs(flash)
    mounted = vfs.VfsLfs2(flash)
vfs.umount("/")
vfs.mount(mounted, "/")
sys.modules["os"] = Os(os, world["chip"])
print("powered")
del json, os, vfs, world, flash, mounted
try:
    exec(open("/main.py").read())
except OSError:
    pass
