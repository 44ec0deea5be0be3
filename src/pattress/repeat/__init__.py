"""Repeating a job elsewhere: what a builder publishes of it, and how another one makes it their own.

    fields      what becomes of every field of the job file; a field that is not listed is not published
    publishing  a job without secrets, persons and places, and the folder that others can take
    points      where the adopter puts their own: question, what the original had, what is allowed
    adopting    from a published job and answers to the adopter's job
"""
