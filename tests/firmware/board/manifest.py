# ruff: noqa: F821
# What the firmware carries beside its C: what mounts the flash at power-up, and asyncio.
freeze("$(PORT_DIR)/modules")
include("$(MPY_DIR)/extmod/asyncio")
