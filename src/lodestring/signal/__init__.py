"""Signal: samples in, curves out. Sweeps, recordings, what went wrong while recording; knows no coil and no design."""
