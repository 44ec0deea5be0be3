"""The infra-red decoder that runs on the board, and unchanged on the workbench."""
