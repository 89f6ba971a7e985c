//! Just enough vectors to carry a bore from the rung's shoulder to the leg's face.

/// A vector or a point in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Vector(pub(crate) [f64; 3]);

impl Vector {
    pub(crate) fn dot(self, other: Vector) -> f64 {
        self.0.into_iter().zip(other.0).map(|(a, b)| a * b).sum()
    }

    pub(crate) fn plus(self, other: Vector, times: f64) -> Vector {
        let ([a, b, c], [x, y, z]) = (self.0, other.0);
        Vector([a + times * x, b + times * y, c + times * z])
    }

    pub(crate) fn minus(self, other: Vector) -> Vector {
        self.plus(other, -1.0)
    }

    pub(crate) fn times(self, times: f64) -> Vector {
        Vector(self.0.map(|x| times * x))
    }

    pub(crate) fn cross(self, other: Vector) -> Vector {
        let ([a, b, c], [x, y, z]) = (self.0, other.0);
        Vector([b * z - c * y, c * x - a * z, a * y - b * x])
    }

    pub(crate) fn unit(self) -> Vector {
        let size = self.dot(self).sqrt();
        Vector(self.0.map(|x| x / size))
    }
}
