"""What the sampler asks of every ADC driver. A driver receives its bus or pins and never makes them.

    is_ready()          is a conversion waiting? Returns at once.
    read()              the waiting conversion, a signed 24-bit int. Allocates nothing.
    is_valid            False where the last read broke a limit of the chip: the count must not be used.
    restart()           set the chip up as after power-up: it may have lost its supply. Takes a millisecond or so.
    settling_readings   conversions to discard after power-up and after a restart.
"""
