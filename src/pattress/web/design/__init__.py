"""The sheets of what follows from the job: pins, fan, remotes, names, variants, documents."""
