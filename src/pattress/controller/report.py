"""The report: what a program tells of itself to whoever asks at the console."""

from json import dumps

from .network import records


def told(program, name):
    """Yield the lines of a report, without the word that each begins with: state, counters and last events of a program, or of `minimal.Parts`, called `name`."""
    queue, loop, slots = program.queue, program.loop, program.site.slots
    record = slots.record()
    yield dumps({
        "bundle": slots.bundle(program.site.slot), "job and design": slots.bundle(program.site.slot, "design"), "slot": program.site.slot, "trial": record["trial"], "fell_back": record["fell_back"],
        "program": name, "starts without a healthy report": record["tries"], "the program before ended": record.get("ended", ""),
        "start records not kept": slots.failed,
        "modules run in place": __name__.startswith("c."), "longest gap between turns [ms]": loop.worst_gap,
        "turns taken by the stand-by": loop.taken_over})
    yield records.counts_record(queue).decode()
    for event in queue.refusals + queue.events():
        yield records.event_record(queue, event).decode()
    yield "end"
