"""Labour, price and cautions.

The price is built in one order: material at whole packs, tax on it, freight, labour at the burdened rate, set-up and
access make the direct cost; contingency is a fraction of that, overhead of both, profit comes on all three as a markup
on cost or as a margin of the price; the minimum charge lifts what falls short of it; tax on the price comes last.
"""
