"""How the networks are trained: scenes drawn by the thousand, and the training itself.

Nothing at run time imports this; it needs PyTorch, which the program does not.
"""
