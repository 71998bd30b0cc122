"""The joint library: every kind as a function of trade sizes, materials and preload."""

from strongback.machine.joints.bearings import (
    Bearing,
    angular_pair,
    deep_groove,
    nose_bending,
    one_bearing,
    spindle_bearings,
    taper_pair,
)
from strongback.machine.joints.bore import clamp_on_round_column, quill_in_bore, slip_torque, tool_in_the_nose
from strongback.machine.joints.estimate import JointStiffness, UsualPlay
from strongback.machine.joints.fixed import glued_joint, seam_screw, tailstock, welded_on_a_plate
from strongback.machine.joints.flange import (
    USUAL_TORQUE,
    FlangeBolt,
    angle_brackets,
    corner_bolts,
    flange_on_bolts,
    preload_of,
    tool_post,
)
from strongback.machine.joints.rails import profile_rail_carriage, round_rail
from strongback.machine.joints.screws import ball_screw, belt, lock, motor_spring, rack, trapezoidal_screw
from strongback.machine.joints.standing import bench, levelling_foot_steel, rubber_foot
from strongback.machine.joints.ways import box_way, dovetail_way

__all__ = [
    "USUAL_TORQUE",
    "Bearing",
    "FlangeBolt",
    "JointStiffness",
    "UsualPlay",
    "angle_brackets",
    "angular_pair",
    "ball_screw",
    "belt",
    "bench",
    "box_way",
    "clamp_on_round_column",
    "corner_bolts",
    "deep_groove",
    "dovetail_way",
    "flange_on_bolts",
    "glued_joint",
    "levelling_foot_steel",
    "lock",
    "motor_spring",
    "nose_bending",
    "one_bearing",
    "preload_of",
    "profile_rail_carriage",
    "quill_in_bore",
    "rack",
    "round_rail",
    "rubber_foot",
    "seam_screw",
    "slip_torque",
    "spindle_bearings",
    "tailstock",
    "taper_pair",
    "tool_in_the_nose",
    "tool_post",
    "trapezoidal_screw",
    "welded_on_a_plate",
]
