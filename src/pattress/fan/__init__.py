"""The ceiling fan and its step regulator: pure functions on plain SI floats.

`motor` (the machine at a speed) <- `operating` (the speeds it settles at) <- `regulator` (which capacitors),
`switching` (what the contacts see), `fit` (the motor from what a person can measure), `tolerance`, `compare`,
`cases`, `pictures`. Only numpy is needed to import any of them.
"""
