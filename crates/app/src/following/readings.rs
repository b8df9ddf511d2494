//! What a visit's photographs say of each value, as a line of numbers for following.
