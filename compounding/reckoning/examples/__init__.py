"""Published worked examples, run through the engine. Pure; the examples themselves are handed in.

`given` reads what an example gives, `running` reckons it and compares. One adapter a kind, named as the kind:
it picks what is given, calls the public functions of reckoning and hands back their answer. Adapters do no
arithmetic; a test reads their syntax and says so.
"""
