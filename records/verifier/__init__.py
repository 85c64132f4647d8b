"""The program that anybody checks records with, offline: `python verify.py --keys KEYS FILE…`.

Its parts are modules here, that know nothing of the rest of the project; `joined` makes the one
file of them that is handed out.
"""
