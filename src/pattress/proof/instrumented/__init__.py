"""The control program instrumented while it is proven: which paths it took, and what influenced what."""
