"""Station 5, which number is which.

By the words beside it (said.py, cues.py), by the fitted weights (weighed_roles.py), shared out to the slots
(share_out.py), asked about where in doubt (doubts.py, weighed_doubts.py, nets.py).
"""
