//! Friction faces (a slider behind a stiff spring) beside an arm (a soft spring), followed in small steps of torque.

/// The joint and the torque peaks that it sees, all in N·m and N·m/rad.
#[derive(Clone, Copy, Debug)]
pub struct Joint {
    /// Torque that the faces carry before they slip.
    pub friction_nm: f64,
    /// Stiffness of the sticking faces.
    pub faces_nm_rad: f64,
    /// Stiffness of arm or stop.
    pub arm_nm_rad: f64,
}

impl Joint {
    /// Slip of the faces in rad from one peak to the next, once it repeats: torque goes up to `drive_nm`, down to
    /// `-brake_nm`, and so on.
    pub fn slip_per_reversal_rad(&self, drive_nm: f64, brake_nm: f64) -> f64 {
        let steps = 20_000;
        let (mut torque_nm, mut angle_rad, mut slid_rad, mut last_rad) = (0.0, 0.0, 0.0_f64, 0.0_f64);
        for target_nm in [drive_nm, -brake_nm, drive_nm, -brake_nm, drive_nm] {
            let begin_rad = slid_rad;
            let step_nm = (target_nm - torque_nm) / f64::from(steps);
            for _ in 0..steps {
                torque_nm += step_nm;
                // Stick first; where the faces would carry more than friction, they slip until they carry just that.
                angle_rad += step_nm / (self.arm_nm_rad + self.faces_nm_rad);
                let carried_nm = self.faces_nm_rad * (angle_rad - slid_rad);
                if carried_nm.abs() > self.friction_nm {
                    let kept_nm = self.friction_nm.copysign(carried_nm);
                    angle_rad = (torque_nm - kept_nm) / self.arm_nm_rad;
                    slid_rad = angle_rad - kept_nm / self.faces_nm_rad;
                }
            }
            last_rad = (slid_rad - begin_rad).abs();
        }
        last_rad
    }
}
