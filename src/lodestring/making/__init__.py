"""Making: what the hands need, as data. Winding plan, polarity map, spool check, potting plan, meter coach, shopping
list.

Each module takes an assessment and gives a frozen record; sheet, page and command show it and add nothing.
"""
