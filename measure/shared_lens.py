"""The focal length that several shots of one camera share, and what is not known of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from measure.focal import focal_of
from measure.joint_dome import Unknown
from measure.pose import Pose
from measure.results import Optics

__all__ = ["common_focal", "unknowns_of_poses"]


def unknowns_of_poses(poses: Sequence[Pose]) -> list[Unknown]:
    """What the scatter of each shot's board leaves open of its pose, the focal length held."""
    nothing = np.zeros(4)
    return [
        Unknown(name="card pose", dome=nothing, states={i: shift})
        for i, pose in enumerate(poses)
        for name, shift in pose.shifts()
        if name == "card pose"
    ]


def common_focal(
    shots: Sequence[tuple[Pose, Optics]], *, focus_percent: float
) -> tuple[list[Pose], list[Unknown]]:
    """The poses with the focal length that they share, and what is not known of it.

    One camera at one zoom has one focal length: what the file says of it is wrong by the same
    share in all shots, and each board seen at a slant tells a little more of it.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for i, (pose, optics) in enumerate(shots):
        groups.setdefault((optics, tuple(sorted(_size_of(pose)))), []).append(i)
    poses = [pose for pose, _ in shots]
    unknowns = []
    nothing = np.zeros(4)
    for members in groups.values():
        optics = shots[members[0]][1]
        told = focal_of(optics, _size_of(poses[members[0]]))
        held = 1.0 / told.u_relative**2
        weight, total = held, held * math.log(told.px)
        for i in members:
            # What the board alone says: the pose's estimate with what the file said taken out.
            both = 1.0 / float(poses[i].covariance[6, 6])
            if both > held:
                weight += both - held
                total += both * float(poses[i].state[6]) - held * math.log(told.px)
        focal, u = total / weight, 1.0 / math.sqrt(weight)
        along = {i: poses[i].covariance[:, 6] / poses[i].covariance[6, 6] for i in members}
        bent = {i: poses[i].barrel_state - poses[i].state for i in members}
        for i in members:
            apart = focal - float(poses[i].state[6])
            poses[i] = replace(poses[i], state=poses[i].state + apart * along[i])
        unknowns += [
            Unknown(name="lens", dome=nothing, states={i: u * along[i] for i in members}),
            Unknown(name="lens", dome=nothing, states=bent, barrel=True),
            *(
                Unknown(name="lens", dome=nothing, states={i: focus_percent / 100.0 * along[i]})
                for i in members
            ),
        ]
    return poses, unknowns


def _size_of(pose: Pose) -> tuple[int, int]:
    """Width and height of the picture."""
    width, height = np.round(2.0 * pose.centre_px + 1.0).astype(int)
    return int(width), int(height)
