"""The screens at the bench: connect, weigh, calibrate, test. Only the thread in live_scale.py talks to a scale."""
