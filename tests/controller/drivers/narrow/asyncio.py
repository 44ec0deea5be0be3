"""Stands in for the interpreter's `asyncio` where the build for 32-bit numbers has none: tasks and pauses, no streams.

Time is that of the stand-in `time`. Connections cannot be had here: whoever serves them only waits.
"""

import time


class CancelledError(BaseException):
    pass


class TimeoutError(Exception):
    pass


class Task:
    def __init__(self, course):
        self.course, self.due, self.thrown = course, time.ticks_ms(), None
        self.is_over, self.result, self.error, self.is_awaited = False, None, None, False

    def done(self):
        return self.is_over

    def cancel(self):
        if not self.is_over:
            self.thrown, self.due = CancelledError(), time.ticks_ms()

    def __iter__(self):
        self.is_awaited = True
        while not self.is_over:
            yield from sleep_ms(1)
        if self.error is not None:
            raise self.error
        return self.result


class _Pause:
    """One object for every pause: a task that sleeps makes nothing."""

    ms, is_begun = 0, False

    def __iter__(self):
        return self

    def __next__(self):
        if self.is_begun:
            _now[0].due = time.ticks_ms() + self.ms
            self.is_begun = False
            return None
        raise StopIteration


_tasks, _first, _now, _pause = [], [None], [None], _Pause()


def sleep_ms(ms):
    _pause.ms, _pause.is_begun = ms, True
    return _pause


def sleep(seconds):
    return sleep_ms(int(1000 * seconds))


class _Loop:
    handler = None

    def set_exception_handler(self, handler):
        self.handler = handler


_loop = _Loop()


def get_event_loop():
    return _loop


def create_task(course):
    _tasks.append(Task(course))
    return _tasks[-1]


class Begun(BaseException):
    """Leaves `run` for whoever calls `go`."""


def run(course):
    """Only begin: this build may collect garbage at its lowest level only, where some `go` on and collect in turn."""
    _first[0] = create_task(course)
    raise Begun


def go(until):
    """Run all tasks until a moment [ms] or the end of the first one; what that raised is raised."""
    first = _first[0]
    while not first.is_over and time.ticks_ms() < until:
        task = _tasks[0]
        for other in _tasks:
            if other.due < task.due:
                task = other
        if task.due > time.ticks_ms():
            time.sleep_ms(task.due - time.ticks_ms())
        _tasks.remove(task)             # whoever is due at the same moment comes before it the next time
        _tasks.append(task)
        _step(task)
        if task.is_over:
            _tasks.remove(task)
            if task.error is not None and task is not first and not isinstance(task.error, CancelledError) and not task.is_awaited:
                _loop.handler(_loop, {"future": task, "exception": task.error})
    if first.error is not None:
        raise first.error


def _step(task):
    _now[0] = task
    try:
        if task.thrown is not None:
            thrown, task.thrown = task.thrown, None
            task.course.throw(thrown)
        else:
            task.course.send(None)
    except StopIteration as end:
        task.is_over, task.result = True, end.value
    except BaseException as error:
        task.is_over, task.error = True, error


async def wait_for(course, seconds):
    return await create_task(course)


async def start_server(connected, host, port, backlog=5):
    return _Server()


class _Server:
    def close(self):
        pass


class StreamReader:
    pass
