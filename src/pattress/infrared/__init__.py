"""Infra-red: captures to codes and back, learning an unknown remote, and which remotes collide."""
