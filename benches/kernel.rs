//! What one segment of the integral costs, and one redraw of the board.

fn main() {}
