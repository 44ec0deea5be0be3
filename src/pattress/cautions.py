"""What is said once, plainly, wherever a person reads what this program made: on the terminal and on every sheet."""

CAUTIONS = (
    "Mains can kill and burn. Work dead and proved dead; a relay or a program is not isolation.",
    "Fixed wiring is subject to local codes and in many places to licensed practice.",
    "These verdicts are an engineer's aid, not an approval. First trials at extra-low voltage.",
)
