"""The full program: the loop as a task, beside it infra-red, sensors, saving, and the network. How it begins is in `beginning`.

The loop begins before anything else is loaded, so switches act while the rest still starts. Where
the board has a timer whose interrupt runs at once, it stands by and takes a turn whenever a
task holds the processor. A task that fails is told and started anew; the loop that fails ends
the program, with every relay open.
"""

import asyncio
import sys
from binascii import crc32

from . import core
from .request_queue import FAULT, FROZEN, readings
from .drivers import clock
from .drivers.pins import RUNNING, TRIAL, TROUBLE, UNLINKED, PowerWarning
from .drivers.store import DAMAGED, Files, Store
from .loop import FELL_BACK, JOINED_S, RESTORE_FAULT, TASK_FAULT
from .parts import FAR, TEND_MS, Parts

DRAIN_MS = 5            # between two looks at the infra-red ring
LOOK_MS = 200           # between two looks whether a sensor is due
AGAIN_S = 10            # a task that failed is started again after so long


class PowerFailed(Exception):
    """The supply warned that the mains is gone. What it is good for is over: start anew, if there is power to."""


class NotJoined(Exception):
    """A new program has not joined the network that the former one had joined: start anew, with the former one."""


class Program:
    """All tasks of one life of the board."""

    def __init__(self, site):
        from . import beginning

        self.settings = beginning.settings_of(site.slots)
        self.site, self.parts = site, Parts(site, readings(site.board["sensors"]), 0 if self.settings is None else FAR)
        self.loop, self.queue = self.parts.loop, self.parts.queue
        self.ear = None
        self.tasks, self.timer = [], None
        self._courses, self._again = [], []     # of each task: what it was begun with; when it is begun again, 0 for never [s]
        self._any_again = False
        self._over = -1             # the task that was over at the last sweep
        self.has_trouble, self.has_joined = site.has_sagged, False
        if self.queue.reset_cause == "watchdog":
            self.queue.counts[FROZEN] += 1
        with open(site.folder + "/plan.json", "rb") as file:
            tag = crc32(file.read())
        store = self.loop.store = Store(Files(site.slots.root), tag, core.size(self.parts.plan))
        self.loop.begin(store.restore())
        self.held = bytes(self.loop.inputs.seen)        # which contacts stood closed at power-up
        if DAMAGED in store.found:
            self.fault(RESTORE_FAULT, store.found[0], store.found[1])
        if site.record["fell_back"]:
            self.fault(FELL_BACK, 0, 0)

    async def live(self):
        """Turn the loop until it fails; raises what it failed with."""
        from . import beginning

        loop = self.loop
        self.timer = beginning.stand_by(self.site.machine, loop)
        asyncio.get_event_loop().set_exception_handler(self._failed)
        try:
            for task in (tend, listen, beginning.connect):
                self.start(task)
            del beginning
            for i in range(len(self.site.board["sensors"])):
                self.start(measure, i)
            self.start(tell)
            warning = PowerWarning(self.site.machine.Pin, self.site.board.get("power_fail"))
            while not loop.has_failed:
                wait = loop.turn()
                if self._any_again:
                    self._begin_again()
                if warning.is_given():
                    loop.flush()
                    self.site.slots.keep({"tries": 0 if self.parts.is_healthy else self.site.record["tries"] - 1})      # no crash
                    raise PowerFailed
                await asyncio.sleep_ms(wait)
        finally:
            for task in self.tasks:
                if task is not None:
                    task.cancel()
        raise loop.error

    def end(self):
        """Stop for good, whatever interrupted: nothing turns any more, and every relay is open."""
        self.loop.has_failed = True
        if self.timer is not None:
            self.timer.deinit()
        self.parts.outputs.release()

    def start(self, task, *given):
        """Run a task beside the loop: a function that takes the program and what is given, and returns a coroutine."""
        self._courses.append((task, given))
        self._again.append(0)
        self.tasks.append(None)
        self._begin(len(self.tasks) - 1)

    def start_network(self, name, *given):
        """Start one of the network's tasks, as `service.others` names them."""
        self.start(run_task, name, *given)

    def let_go(self, name):
        """Forget a module of the bundle, "report" for one: whoever wants it next loads it anew."""
        package = __name__.rpartition(".")[0]
        sys.modules.pop(package + "." + name, None)
        sys.modules[package].__dict__.pop(name, None)

    def _begin(self, number):
        task, given = self._courses[number]
        self.tasks[number] = asyncio.create_task(task(self, *given))

    def _failed(self, loop, context):
        """Tell that a task failed; it is begun again after a while. Memory may have been what it lacked: nothing is needed here."""
        task, error = context["future"], context["exception"]
        if task not in self.tasks:              # nobody's we know: not begun here
            loop.default_exception_handler(loop, context)      # not a method: `loop` is the class itself
            return
        number = self.tasks.index(task)
        self.tasks[number], self._again[number], self._any_again = None, self.queue.seconds + AGAIN_S, True
        self.fault(TASK_FAULT, number, 0)
        try:
            print("task {}: {} {}".format(number, type(error).__name__, error))
        except MemoryError:
            pass                                # the ring of events has it

    def _begin_again(self):
        self._any_again = False
        for number in range(len(self.tasks)):
            due = self._again[number]
            if due and self.queue.seconds >= due:
                self._again[number] = 0
                try:
                    self._begin(number)
                except MemoryError:
                    self._again[number] = due + AGAIN_S
            self._any_again = self._any_again or self._again[number] != 0

    def sweep(self):
        """Let go of a task that is over: it keeps what it knew last. At second sight, when one that failed is known to have."""
        for number in range(len(self.tasks)):
            task = self.tasks[number]
            if task is not None and task.done():
                if number == self._over:
                    self.tasks[number] = self._courses[number] = None
                self._over = number
                return

    def fault(self, what, first, second):
        self.has_trouble = True
        self.queue.note(FAULT, what, first, second)

    def is_silent(self):
        """Return whether no infra-red signal is arriving."""
        return self.ear is None or self.ear.is_silent()

    def is_idle(self):
        """Return whether nothing would mind the processor being held for a few milliseconds."""
        return self.parts.is_idle(self.is_silent())

    def is_missing(self):
        """Return whether this program is on trial and has not joined the network as it must; what was joined once will do."""
        record = self.site.record
        self.has_joined = self.has_joined or bool(self.queue.linked[1])
        return record["trial"] and record.get("joins", False) and not self.has_joined


async def tend(program):
    """See to what can wait, again and again."""
    site, queue = program.site, program.queue
    while True:
        program.parts.tend(program.is_silent(), program.is_missing())
        if program.is_missing() and queue.seconds >= JOINED_S and program.is_idle() and program.loop.is_saved():
            program.loop.stop(NotJoined("no network in {} s".format(JOINED_S)))
        if program.has_trouble or program.loop.store.failed or site.slots.failed:
            pattern = TROUBLE
        elif site.record["trial"] and not program.parts.is_healthy:
            pattern = TRIAL
        else:
            pattern = RUNNING if queue.linked[0] or program.settings is None else UNLINKED
        program.parts.lamp.show(pattern)
        program.sweep()
        await asyncio.sleep_ms(TEND_MS)


async def listen(program):
    """Hear the infra-red remote, if the board has a receiver."""
    number = program.site.board["infrared"]
    if number is None:
        return
    from . import beginning
    from .infrared import decoder

    plan = program.parts.plan
    program.ear = ear = beginning.ear_at(
        program.site.machine.Pin, number, decoder.decoder_of(plan.protocol, plan.address, plan.command), program.loop.hear)
    del beginning
    while True:
        await asyncio.sleep_ms(0 if ear.drain() else DRAIN_MS)


async def measure(program, place):
    """Read one sensor whenever it is due and nothing stirs."""
    from .drivers.humidity import START_MS, Sensor

    row, machine, tell = program.site.board["sensors"][place], program.site.machine, program.queue.reading
    if program.parts.readings:
        from .readings import hear

        tell = hear(program.parts)
    sensor = Sensor(machine.Pin, row["pin"], row["kind"], clock, tell, 2 * place, machine.time_pulse_us)
    while True:
        if sensor.is_due() and program.is_idle():
            sensor.start()
            await asyncio.sleep_ms(START_MS)
            if program.is_idle():
                sensor.finish()
            else:
                sensor.give_up()
        await asyncio.sleep_ms(LOOK_MS)


async def tell(program):
    """Answer a person at the console."""
    from .console import answer

    await answer(program)


async def run_task(program, name, *given):
    """Run one of the tasks that `service.others` names. What begins it is loaded for that, and let go."""
    from .network import let_go, service

    further = await getattr(service, name)(program, *given)
    del service
    let_go("service")
    if further is not None:
        await further


def run(site):
    """Live until the loop fails. Raises what it failed with."""
    program = Program(site)
    try:
        asyncio.run(program.live())
    finally:
        program.end()
