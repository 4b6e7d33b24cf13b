package booth

// GroundMaxOhm is the highest resistance from a hook, a hanger or a part to the
// grounded conveyor that counts as grounded: one megohm. From memory of the fire
// codes for electrostatic spraying; the code that binds the shop comes first.
const GroundMaxOhm = 1_000_000
