"""Scenes put to the proof and to brute force, and everything in which the two may disagree.

``proved``: what the proof does not refuse, no sample breaks. ``said``: what it says would happen happens in the case it
shows. ``safe``: no start in the box of safe starts breaks anything, and no larger box is granted. ``following``: a
macro of which nothing is said breaks nothing after another. ``scenes`` puts one scene to all that concerns it.
"""
