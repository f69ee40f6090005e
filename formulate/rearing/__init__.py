"""Rearing: from the mix to a weaned animal.

::

    flock_file, log  →  flock  →  feeding  →  growth, weaning, shopping
                        figures, schedule, energy, milk, colostrum beneath them

Weights are in kilograms, energy is metabolisable [MJ], milk is in litres and millilitres.
"""
