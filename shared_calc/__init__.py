"""The calculation that device and host share: integers only, importing nothing but the language.

Read `measuring_chain.py` first; `fit.py` and `curve.py` are where the numbers are decided.
"""
