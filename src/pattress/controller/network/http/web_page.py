"""The page, in parts that are sent one after the other. Forms and links work without the script.

Everything a person reads is in words; colour only repeats it. What a channel does is shown
when the loop has said so, never because it was asked for.
"""

from ..records import counted, decimal, event_kinds
from .login import form_token

CAUSES = {"nobody": "since power-up", "network": "over the network", "restore": "after a power cut",
          "stuck closed": "stuck closed: will not open", "stuck open": "stuck open: will not close"}
CAUTION = "Off here is not isolation. Before working on a load: switch off at the protective device, prove dead."


def escaped(text):
    """Return text as it may stand in HTML, in an attribute too."""
    for sign in "&<>\"'":
        text = text.replace(sign, "&#{};".format(ord(sign)))
    return text


def opening(title, body=""):
    return (
        '<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content="width=device-width">'
        '<title>{0}</title><link rel=icon href="data:,"><link rel=stylesheet href="/page.css">'
        '<body{1}><header><h1>{0}</h1>').format(escaped(title), body)


def login_page(queue, wait=0, wrong=False):
    """Yield the page that asks for the passphrase."""
    yield opening(queue.title) + "</header><main>"
    if wait:
        yield "<p role=alert>Too many tries. Wait {} s, then try again.</p>".format(wait)
    elif wrong:
        yield "<p role=alert>That is not the passphrase. It is on the label of the controller.</p>"
    yield ('<form class=login method=post action="/login"><label for=passphrase>Passphrase, from the label</label>'
           "<input id=passphrase name=passphrase type=password maxlength=64 autocomplete=current-password required autofocus>"
           "<button>Open</button></form></main>")


def main_page(queue, session, may_ask, has_login):
    """Yield the page with every channel, reading and input. The script then keeps it true."""
    core = queue.core
    yield opening(queue.title, ' data-second="{}"'.format(queue.seconds))
    yield "<p id=link role=status>As of {}. Reload to see changes.</p></header><main>".format(_age(queue.seconds, "after power-up"))
    if queue.sensors or queue.inputs:
        yield "<dl>"
        for sensor, (key, name, unit) in enumerate(queue.sensors):
            yield _reading(queue, sensor, key, name, unit)
        for place in range(len(queue.inputs.keys) if queue.inputs else 0):
            yield _input(queue.inputs, place)
        yield "</dl>"
    yield "<ol>"
    for channel in range(len(queue.keys)):
        yield _channel(queue, core, channel, session, may_ask)
    yield "</ol>"
    if not may_ask:
        yield "<p class=note>Nothing can be asked here: this page is for reading only.</p>"
    yield '</main><footer><p>{}</p><nav><a href="/log">What happened</a>'.format(CAUTION)
    if has_login:
        yield '<form method=post action="/logout"><input type=hidden name=token value={}><button>Lock</button></form>'.format(
            form_token(session))
    yield '</nav></footer>'
    yield '<script src="/page.js"></script>'


def log_page(queue):
    """Yield what happened last and what was counted."""
    yield opening("{}: what happened".format(queue.title)) + "</header><main><table><caption>Last events, newest first</caption>"
    yield "<tr><th scope=col>When<th scope=col>What"
    for second, kind, first, level, cause in queue.events():
        words = event_kinds()[kind]
        if words == "moved":
            words = "{}: {}, {}".format(queue.names[first], level_words(level, queue.tops[first]), cause_words(queue, cause))
        elif words in ("stuck", "works again"):
            words = "{}: {}, told to be {}".format(queue.names[first], cause_words(queue, cause) if words == "stuck" else words,
                                                   level_words(level, queue.tops[first]))
        elif words.startswith("sensor"):
            words = "{}: {}".format(queue.sensors[first][1], words)
        elif words == "fault":
            words = "fault {}".format(first)
        yield "<tr><td>{}<td>{}".format(_age(queue.seconds - second, "ago"), escaped(words))
    yield "</table><table><caption>Counted since power-up ({}; start: {})</caption>".format(
        _age(queue.seconds, "ago"), escaped(queue.reset_cause))
    for last, kind, number, times, _ in queue.refusals:
        yield "<tr><th scope=row>{} ({})<td>{}, last {}".format(event_kinds()[kind], number, times, _age(queue.seconds - last, "ago"))
    for i, words in enumerate(counted()):
        yield "<tr><th scope=row>{}<td>{}".format(escaped(words), queue.counts[i])
    for i, name in enumerate(queue.names):
        yield "<tr><th scope=row>{} moved<td>{}".format(escaped(name), queue.operations[i])
    yield '</table></main><footer><nav><a href="/">Back</a></nav></footer>'


def notice_page(queue, words):
    """Yield a page that says why nothing was done."""
    yield opening(queue.title) + "</header><main><p role=alert>{}</p></main>".format(escaped(words))
    yield '<footer><nav><a href="/">Back</a></nav></footer>'


def level_words(level, top):
    if not level:
        return "off"
    return "on" if top == 1 else "step {}".format(level)


def cause_words(queue, cause):
    word = queue.cause_word(cause)
    return CAUSES.get(word, "by " + word)


def _reading(queue, sensor, key, name, unit):
    value = "{} {}".format(decimal(queue.value[sensor]), escaped(unit)) if queue.fresh[sensor] else "no reading"
    return '<div data-sensor="{0}" id="s{1}" data-unit="{3}"><dt>{2}</dt><dd>{4}</dd></div>'.format(
        escaped(key), sensor, escaped(name), escaped(unit), value)


def _input(inputs, place):
    return '<div data-input="{}"><dt>{}</dt><dd>{}</dd></div>'.format(inputs.keys[place], escaped(inputs.names[place]), inputs.word(place))


def _channel(queue, core, channel, session, may_ask):
    key, name, level, top = queue.keys[channel], queue.names[channel], queue.level[channel], queue.tops[channel]
    cause = cause_words(queue, queue.cause[channel])
    parts = ['<li data-channel="{0}" data-top={1} data-level={2} data-since={3} class="{4}"><h2 id="n{5}">{6}</h2>'
             '<p><output aria-live=polite aria-labelledby="n{5}">{7}</output> <small>{8}, {9}</small></p>'.format(
                 escaped(key), top, level, queue.since[channel], "lit" if level else "", channel, escaped(name),
                 level_words(level, top), cause, _age(queue.seconds - queue.since[channel], "ago"))]
    if may_ask:
        parts.append('<form method=post action="/channel/{}/ask" aria-labelledby="n{}">'
                     "<input type=hidden name=token value={}>".format(escaped(key), channel, form_token(session)))
        for request in (("off", "on") if top == 1 else range(top + 1)):
            if queue.plan.rules and queue.plan.wall_only[channel] > (request in ("off", 0)):
                break
            shown = request if top == 1 else request or "off"
            current = (request == "on") == (level > 0) if top == 1 else request == level
            parts.append('<button name=request value="{}"{}{}>{}</button>'.format(
                request, ' aria-current="true"' if current else "",
                ' aria-label="step {}"'.format(request) if top > 1 and request else "", shown))
        parts.append("<p role=alert></p></form>")
    return "".join(parts) + "</li>"


def _age(seconds, after):
    for length, word in ((86400, "d"), (3600, "h"), (60, "min")):
        if seconds >= length:
            return "{} {} {}".format(seconds // length, word, after)
    return "{} s {}".format(seconds, after)
