"""The sheets on which the job is looked at and edited."""
