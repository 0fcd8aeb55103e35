"""What a single survey cannot show: rates, trends, clusters, integrity, and what to do about them.

Pure functions on the frames of the contract (`surveys`, `readings`, `findings`, `register`, `events`); nothing here
reads a file or a store. Held and superseded surveys are counted in no figure; where a figure leaves held surveys out it
says how many.
"""
