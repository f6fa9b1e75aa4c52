//! The grid on which wires are drawn: its cells, and which of them are closed to which wires.

/// A cell, counted from the left and from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Cell {
    pub(super) x: i32,
    pub(super) y: i32,
}

/// A way to leave a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Side {
    Up,
    Right,
    Down,
    Left,
}

/// Where a wire meets a terminal: the point of solder, the first cell off its part, and the way there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Gate {
    pub(super) dot: Cell,
    pub(super) cell: Cell,
    pub(super) side: Side,
}

/// Who may pass a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pass {
    Free,
    /// Only wires that have this key.
    Only(u16),
    Closed,
}

/// A rectangle of cells, its last ones among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) from: Cell,
    pub(super) to: Cell,
}

/// All cells with who may pass them.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    pub(super) width: i32,
    pub(super) height: i32,
    cells: Vec<Pass>,
}

impl Cell {
    pub(super) fn new(x: i32, y: i32) -> Self {
        Self { x, y }
    }

    pub(super) fn moved(self, by: Self) -> Self {
        Self { x: self.x + by.x, y: self.y + by.y }
    }

    pub(super) fn next(self, side: Side) -> Self {
        let [x, y] = side.step();
        Self { x: self.x + x, y: self.y + y }
    }

    /// Returns how many steps lead to `other` at least.
    pub(super) fn steps_to(self, other: Self) -> u32 {
        self.x.abs_diff(other.x) + self.y.abs_diff(other.y)
    }
}

impl Side {
    pub(super) const ALL: [Self; 4] = [Self::Up, Self::Right, Self::Down, Self::Left];

    pub(super) fn step(self) -> [i32; 2] {
        match self {
            Self::Up => [0, -1],
            Self::Right => [1, 0],
            Self::Down => [0, 1],
            Self::Left => [-1, 0],
        }
    }

    pub(super) fn opposite(self) -> Self {
        match self {
            Self::Up => Self::Down,
            Self::Right => Self::Left,
            Self::Down => Self::Up,
            Self::Left => Self::Right,
        }
    }

    pub(super) fn is_upright(self) -> bool {
        matches!(self, Self::Up | Self::Down)
    }
}

impl Gate {
    /// Returns the gate of a solder point whose part ends `reach` cells away on this side.
    pub(super) fn new(dot: Cell, side: Side, reach: i32) -> Self {
        let [x, y] = side.step();
        Self { dot, cell: Cell::new(dot.x + x * reach, dot.y + y * reach), side }
    }

    pub(super) fn moved(self, by: Cell) -> Self {
        Self { dot: self.dot.moved(by), cell: self.cell.moved(by), side: self.side }
    }
}

impl Area {
    pub(super) fn new(left: i32, top: i32, right: i32, bottom: i32) -> Self {
        Self { from: Cell::new(left, top), to: Cell::new(right, bottom) }
    }

    pub(super) fn moved(self, by: Cell) -> Self {
        Self { from: self.from.moved(by), to: self.to.moved(by) }
    }

    /// Returns whether two areas are no farther apart than so many cells.
    pub(super) fn is_near(self, other: Self, cells: i32) -> bool {
        let apart = |from: i32, to: i32, other_from: i32, other_to: i32| {
            from > other_to + cells || other_from > to + cells
        };
        !apart(self.from.x, self.to.x, other.from.x, other.to.x)
            && !apart(self.from.y, self.to.y, other.from.y, other.to.y)
    }

    fn cells(self) -> impl Iterator<Item = Cell> {
        (self.from.y..=self.to.y).flat_map(move |y| (self.from.x..=self.to.x).map(move |x| Cell::new(x, y)))
    }
}

impl Grid {
    /// Returns a grid of cells that all wires may pass.
    pub(super) fn free(width: i32, height: i32) -> Self {
        let count = usize::try_from(width.max(0) * height.max(0)).unwrap_or(0);
        Self { width, height, cells: vec![Pass::Free; count] }
    }

    /// Gives an area to who may pass it; cells beyond the grid are left out.
    pub(super) fn give(&mut self, area: Area, pass: Pass) {
        for cell in area.cells() {
            if let Some(place) = self.place(cell) {
                self.cells[place] = pass;
            }
        }
    }

    /// Returns the cell's place among all.
    pub(super) fn place(&self, cell: Cell) -> Option<usize> {
        let is_within = (0..self.width).contains(&cell.x) && (0..self.height).contains(&cell.y);
        if is_within { usize::try_from(cell.y * self.width + cell.x).ok() } else { None }
    }

    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    /// Returns the cell's place where a wire with these keys may pass it.
    pub(super) fn open(&self, cell: Cell, keys: &[u16]) -> Option<usize> {
        self.place(cell).filter(|place| match self.cells[*place] {
            Pass::Free => true,
            Pass::Only(key) => keys.contains(&key),
            Pass::Closed => false,
        })
    }

    /// Returns whether not every wire may pass the cell.
    pub(super) fn is_kept(&self, cell: Cell) -> bool {
        self.place(cell).is_none_or(|place| self.cells[place] != Pass::Free)
    }
}
