"""A new program that comes over the network: taken as it comes, if it is announced as `announcement` says."""

from binascii import unhexlify

from ... import announcement
from ...request_queue import PROGRAM_REFUSED, PROGRAM_TAKEN


async def renew(request, program, key, kept):
    """Return (status, words) of the reply to a request that brings a program; `kept` is a list for what judges one announcement after the other."""
    queue, slots = program.queue, program.site.slots
    if not kept:
        kept.append(announcement.Announcements(slots, unhexlify(key)))
    try:
        announced = kept[0].accept(request.fields.get("announcement", "").encode())
        try:
            await request.go_on()
            from ... import arriving        # more of it, and only for who has the key

            slot = await arriving.Arriving(slots, lambda: queue.seconds, program.is_idle).take(
                announced, request.read, bool(queue.linked[1]))
        finally:
            kept[0].is_busy = False
    except announcement.Refused as refused:
        queue.note(PROGRAM_REFUSED, refused.number, 0, 0)
        queue.decline(b"program", b"", str(refused), "a bundle of this job, signed and newer")
        return 409, str(refused)
    queue.note(PROGRAM_TAKEN, announced[0], 0, 0)
    program.start(arriving.restart)
    return 200, "{} {}".format(slot, announced[0])
