"""The two networks that tell blooms and clumps from what is round them, as ONNX files.

Trained on drawn scenes only, by ``measure.training.train``; weights kept in half precision.
"""
