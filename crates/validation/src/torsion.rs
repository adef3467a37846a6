//! St-Venant torsion of a round bar with two flats and a central bore, by linear finite elements for Prandtl's
//! function on a quarter of the section. All nodes of the bore are one unknown: the function is constant there.

use std::f64::consts::{FRAC_PI_2, PI};

/// The section, in mm.
#[derive(Clone, Copy, Debug)]
pub struct Section {
    /// Diameter of the round.
    pub diameter_mm: f64,
    /// Distance of the two flats.
    pub flats_mm: f64,
    /// Diameter of the central bore; zero for none.
    pub bore_mm: f64,
}

/// What torsion does to it.
#[derive(Clone, Copy, Debug)]
pub struct Torsion {
    /// Torsion constant in mm⁴.
    pub constant_mm4: f64,
    /// Highest shear stress in MPa for one N·m.
    pub stress_mpa_per_nm: f64,
}

impl Section {
    fn rim_mm(&self, angle: f64) -> f64 {
        (self.flats_mm / 2.0 / angle.cos()).min(self.diameter_mm / 2.0)
    }

    /// Solves with `rings` elements from bore to rim and twice as many around the quarter.
    pub fn twist(&self, rings: usize) -> Torsion {
        let mesh = Mesh::new(self, rings);
        let psi = mesh.solve(PI * self.bore_mm * self.bore_mm / 4.0);
        let constant_mm4 = mesh.constant_mm4(&psi, PI * self.bore_mm * self.bore_mm / 4.0);
        Torsion { constant_mm4, stress_mpa_per_nm: 1e3 / constant_mm4 * mesh.steepest_on_rim(&psi) }
    }
}

/// Nodes on rays from the bore (ring 0, one unknown) to the rim (last ring, zero).
struct Mesh {
    rings: usize,
    angles: Vec<f64>,
    points: Vec<[f64; 2]>,
    corner: f64,
    triangles: Vec<[usize; 3]>,
}

impl Mesh {
    fn new(section: &Section, rings: usize) -> Self {
        // A ray goes through the corner between flat and round, so that no element straddles it.
        let corner = (section.flats_mm / section.diameter_mm).min(1.0).acos();
        let angles: Vec<f64> = (0..=rings)
            .map(|k| corner * k as f64 / rings as f64)
            .chain((1..=rings).map(|k| corner + (FRAC_PI_2 - corner) * k as f64 / rings as f64))
            .collect();
        let bore = section.bore_mm / 2.0;
        let mut points = Vec::new();
        for &angle in &angles {
            for ring in 0..=rings {
                let radius = bore + (section.rim_mm(angle) - bore) * ring as f64 / rings as f64;
                points.push([radius * angle.cos(), radius * angle.sin()]);
            }
        }
        let node = |ray: usize, ring: usize| ray * (rings + 1) + ring;
        let mut triangles = Vec::new();
        for ray in 0..angles.len() - 1 {
            for ring in 0..rings {
                let (a, b) = (node(ray, ring), node(ray, ring + 1));
                let (c, d) = (node(ray + 1, ring + 1), node(ray + 1, ring));
                triangles.push([a, b, c]);
                triangles.push([a, c, d]);
            }
        }
        Self { rings, angles, points, corner, triangles }
    }

    fn on_bore(&self, node: usize) -> bool {
        node.is_multiple_of(self.rings + 1)
    }

    fn on_rim(&self, node: usize) -> bool {
        node % (self.rings + 1) == self.rings
    }

    /// The unknown that stands for a node: all of the bore share that of node 0.
    fn unknown(&self, node: usize) -> usize {
        if self.on_bore(node) { 0 } else { node }
    }

    /// Twice the area, and the gradients of the three shape functions times it.
    fn shape(&self, [a, b, c]: [usize; 3]) -> (f64, [[f64; 2]; 3]) {
        let edge = |from: usize, to: usize| {
            [self.points[to][0] - self.points[from][0], self.points[to][1] - self.points[from][1]]
        };
        let (ab, ac, bc) = (edge(a, b), edge(a, c), edge(b, c));
        let twice = ab[0] * ac[1] - ab[1] * ac[0];
        (twice, [[-bc[1], bc[0]], [ac[1], -ac[0]], [-ab[1], ab[0]]])
    }

    /// Stiffness times a field over the unknowns, rim left out.
    fn apply(&self, field: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; field.len()];
        for &triangle in &self.triangles {
            let (twice, gradient) = self.shape(triangle);
            if twice <= 1e-14 {
                continue; // collapsed: the centre of a bar without bore, the flat of a bar without flats
            }
            for (i, gi) in triangle.iter().zip(gradient).filter(|(i, _)| !self.on_rim(**i)) {
                let row = self.unknown(*i);
                for (j, gj) in triangle.iter().zip(gradient) {
                    if !self.on_rim(*j) {
                        out[row] += (gi[0] * gj[0] + gi[1] * gj[1]) / (2.0 * twice) * field[self.unknown(*j)];
                    }
                }
            }
        }
        out
    }

    /// Minimises ½∫|∇ψ|² − 2∫ψ − 2ψ_bore·A_bore over a quarter by conjugate gradients.
    fn solve(&self, bore_area_mm2: f64) -> Vec<f64> {
        let mut load = vec![0.0; self.points.len()];
        for &triangle in &self.triangles {
            let third = self.shape(triangle).0.max(0.0) / 6.0;
            for node in triangle.into_iter().filter(|node| !self.on_rim(*node)) {
                load[self.unknown(node)] += 2.0 * third;
            }
        }
        load[0] += 2.0 * bore_area_mm2 / 4.0;

        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut psi = vec![0.0; load.len()];
        let (mut rest, mut along) = (load.clone(), load.clone());
        let start = dot(&load, &load);
        let mut square = start;
        // As many steps as unknowns are always enough in exact arithmetic; rounding may stop the fall before the bound.
        for _ in 0..psi.len() {
            if square <= 1e-20 * start {
                break;
            }
            let pushed = self.apply(&along);
            let step = square / dot(&along, &pushed);
            for k in 0..psi.len() {
                psi[k] += step * along[k];
                rest[k] -= step * pushed[k];
            }
            let next = dot(&rest, &rest);
            for k in 0..psi.len() {
                along[k] = rest[k] + next / square * along[k];
            }
            square = next;
        }
        (0..psi.len()).map(|node| psi[self.unknown(node)]).collect()
    }

    fn constant_mm4(&self, psi: &[f64], bore_area_mm2: f64) -> f64 {
        let metal: f64 = self
            .triangles
            .iter()
            .map(|t| self.shape(*t).0.max(0.0) / 6.0 * t.iter().map(|k| psi[*k]).sum::<f64>())
            .sum();
        4.0 * (2.0 * metal) + 2.0 * bore_area_mm2 * psi[0]
    }

    /// Largest slope across the rim. The function is zero along it, so that the slope along a ray tells it.
    fn steepest_on_rim(&self, psi: &[f64]) -> f64 {
        let ray = |k: usize| {
            let last = k * (self.rings + 1) + self.rings;
            let [x, y] = self.points[last];
            let [x2, y2] = self.points[last - 2];
            let slope = (4.0 * psi[last - 1] - psi[last - 2]) / (x - x2).hypot(y - y2);
            let tilt = if self.angles[k] < self.corner { self.angles[k].cos() } else { 1.0 };
            slope / tilt
        };
        (0..self.angles.len()).map(ray).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tube has a closed solution: J = π(D⁴ − d⁴)/32, stress T·D/(2J).
    #[test]
    fn a_tube_comes_out_right() {
        for bore_mm in [0.0, 6.0] {
            let got = Section { diameter_mm: 12.0, flats_mm: 12.0, bore_mm }.twist(48);
            let constant = PI * (12f64.powi(4) - bore_mm.powi(4)) / 32.0;
            assert!((got.constant_mm4 / constant - 1.0).abs() < 3e-3, "bore {bore_mm}: {got:?}, J {constant}");
            let stress = 6e3 / constant;
            assert!((got.stress_mpa_per_nm / stress - 1.0).abs() < 5e-3, "bore {bore_mm}: {got:?}, {stress}");
        }
    }
}
