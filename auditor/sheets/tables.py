from __future__ import annotations


def read_tables(scene, env):
    return None, []
