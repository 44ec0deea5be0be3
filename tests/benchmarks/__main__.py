"""`make benchmark`: every comparison, each printing its ratios. Never asserts a time."""

from importlib import import_module

BENCHES = ("cold_start", "proof", "fan", "infrared", "board", "firmware", "second_opinion", "pack", "year", "page")

for name in BENCHES:
    import_module(f"{__package__}.{name}").main()
    print()
