"""The home's broker: told what happens, and listened to."""
