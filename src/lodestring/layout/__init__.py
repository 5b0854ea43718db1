"""Layout: pure geometry in metres. String lines, pole pieces under them, bobbin outline, coil window, clearances.

Takes and gives floats and small frozen records; the coil's depth comes in as an argument, never computed here.
"""
