//! A grey picture.

/// Grey values by rows from the top, 0 black to 1 white. The centre of the pixel in column `i` and row `j` is the point
/// (i, j): x to the right, y down.
#[derive(Clone, Debug, PartialEq)]
pub struct Gray {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

impl Gray {
    /// A picture of one value.
    pub fn filled(width: usize, height: usize, value: f32) -> Self {
        Self { width, height, values: vec![value; width * height] }
    }

    /// From values by rows; `None` when there are not `width` × `height` of them.
    pub fn of(width: usize, height: usize, values: Vec<f32>) -> Option<Self> {
        (values.len() == width * height).then_some(Self { width, height, values })
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.height
    }

    /// Row `j`.
    pub fn row(&self, j: usize) -> &[f32] {
        &self.values[j * self.width..(j + 1) * self.width]
    }

    /// Row `j`, to be changed.
    pub fn row_mut(&mut self, j: usize) -> &mut [f32] {
        &mut self.values[j * self.width..(j + 1) * self.width]
    }

    /// All values by rows.
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// All values, to be changed.
    pub fn values_mut(&mut self) -> &mut [f32] {
        &mut self.values
    }

    /// Value at a point between pixel centres, linear in x and y; the nearest edge pixel's beyond the picture.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let hold = |v: f64, n: usize| v.clamp(0.0, n.saturating_sub(1) as f64);
        let (x, y) = (hold(x, self.width), hold(y, self.height));
        let (i, j) = (x as usize, y as usize);
        let (i1, j1) = ((i + 1).min(self.width - 1), (j + 1).min(self.height - 1));
        let (u, v) = (x - i as f64, y - j as f64);
        let value = |i: usize, j: usize| f64::from(self.values[j * self.width + i]);
        (1.0 - v) * ((1.0 - u) * value(i, j) + u * value(i1, j))
            + v * ((1.0 - u) * value(i, j1) + u * value(i1, j1))
    }
}
