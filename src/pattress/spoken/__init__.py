"""What a home calls its things, by sound: which names a voice assistant may take for another."""
