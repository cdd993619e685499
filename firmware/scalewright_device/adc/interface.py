"""What the sampler asks of every ADC driver. A driver receives its bus or pins and never makes them.

    is_ready()          is a conversion waiting? Returns at once.
    read()              the waiting conversion, a signed 24-bit int. Allocates nothing.
    is_valid            False where the last read broke a timing limit: the count must not be used.
    settling_readings   conversions to discard after power-up, and after a read that was not valid.
"""
