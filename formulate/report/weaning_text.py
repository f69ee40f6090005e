"""Weaning in words: when, what the animal must show first, and how its milk ends."""

from __future__ import annotations

from formulate.base.messages import say
from formulate.rearing.energy import keep
from formulate.rearing.feed_plan import Weaning
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, MilkEnd, Species
from formulate.rearing.weaning import criteria_of, step_down_shares

__all__ = ["asked_words", "weaning_texts"]


def weaning_texts(weaning: Weaning, animal: Animal) -> list[str]:
    """Sentences on an animal's weaning: the day, what it needs, how its milk ends."""
    if weaning.ready is None:
        return [say("weaning.not-reached")]
    return [_when(weaning), *asked_words(weaning, animal)]


def asked_words(weaning: Weaning, animal: Animal) -> list[str]:
    """What an animal needs before it is weaned, with the sources, and how its milk ends."""
    criteria = criteria_of(animal)
    seen = say("weaning.seen" if weaning.creep_seen else "weaning.not-seen")
    if criteria.birth_multiple is None:
        needs = say("weaning.needs", age=criteria.age, weight=criteria.heaviest,
                    creep=criteria.creep, days=criteria.creep_days, seen=seen)  # fmt: skip
    else:
        needs = say("weaning.needs-multiple", age=criteria.age, weight=criteria.heaviest,
                    least=value("wean-weight", animal.species),
                    multiple=value("wean-birth-multiple"), creep=criteria.creep,
                    days=criteria.creep_days, seen=seen)  # fmt: skip
    texts = [f"{needs} {say(f'weaning.sources-{animal.species.value}')}"]
    if weaning.regain is not None:
        now, before = animal.last_weight.kilograms, weaning.regain.kilograms
        texts.append(say("weaning.regain", now=now, before=before))
    if animal.species is Species.KID:
        weight = value("wean-weight", animal.species)
        energy = criteria.creep / 1e3 * value("creep-energy")
        share = 100 * energy / float(keep(weight, kid=True))
        texts.append(say("weaning.kid-creep", creep=criteria.creep, share=share, weight=weight))
    if weaning.how is MilkEnd.ABRUPT:
        texts.append(say("weaning.abrupt"))
    else:
        texts.append(say("weaning.stepped", half=len(step_down_shares(weaning.how)) // 2))
    return texts


def _when(weaning: Weaning) -> str:
    ready, last, litres = weaning.ready, weaning.last_milk, weaning.litres_left
    if weaning.earliest == weaning.latest:
        return say("weaning.about", ready=ready, last=last, litres=litres)
    if weaning.latest is None:
        return say("weaning.or-later", ready=ready, earliest=weaning.earliest, last=last,
                   litres=litres)  # fmt: skip
    return say("weaning.between", ready=ready, earliest=weaning.earliest, latest=weaning.latest,
               last=last, litres=litres)  # fmt: skip
