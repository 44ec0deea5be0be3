"""What is said once, plainly, wherever a person reads what this program made: on the terminal and on every sheet."""

CAUTIONS = (
    "Mains can kill and burn. Work dead and proved dead; a relay or a program is not isolation.",
    "Fixed wiring is subject to local codes and in many places to licensed practice.",
    "These verdicts are an engineer's aid, not an approval. First trials at extra-low voltage.",
)

FOR_THE_HOUSEHOLD = (
    "Mains can kill and burn. A switch on the wall, a remote or a phone never makes a wire dead.",
    "Whoever changes a lamp switches off at the distribution board first. Anything behind a cover is for an electrician, or for whom local rules allow it.",
)
