//! Numbers of landmarks on the canonical surface, by what they outline. Own right first where there are two.

/// The outline of the face, from the top over the own left side round to the top again.
pub(crate) const OUTLINE: [usize; 36] = [
    10, 338, 297, 332, 284, 251, 389, 356, 454, 323, 361, 288, 397, 365, 379, 378, 400, 377, 152, 148, 176, 149, 150,
    136, 172, 58, 132, 93, 234, 127, 162, 21, 54, 103, 67, 109,
];

/// Lid margins: outer corner, then the lower margin to the inner corner (index 8), then the upper margin back.
pub(crate) const LIDS: [[usize; 16]; 2] = [
    [33, 7, 163, 144, 145, 153, 154, 155, 133, 173, 157, 158, 159, 160, 161, 246],
    [263, 249, 390, 373, 374, 380, 381, 382, 362, 398, 384, 385, 386, 387, 388, 466],
];

/// The second ring of the upper lid (where the fold lies), outer to inner.
pub(crate) const FOLD: [[usize; 7]; 2] = [[247, 30, 29, 27, 28, 56, 190], [467, 260, 259, 257, 258, 286, 414]];

/// Upper edge of the brow, outer to inner.
pub(crate) const BROW_UPPER: [[usize; 5]; 2] = [[70, 63, 105, 66, 107], [300, 293, 334, 296, 336]];

/// Lower edge of the brow, outer to inner.
pub(crate) const BROW_LOWER: [[usize; 5]; 2] = [[46, 53, 52, 65, 55], [276, 283, 282, 295, 285]];

/// The border of the red of the lips: lower lip from the own right corner, then the upper lip back.
pub(crate) const LIPS_OUTER: [usize; 20] =
    [61, 146, 91, 181, 84, 17, 314, 405, 321, 375, 291, 409, 270, 269, 267, 0, 37, 39, 40, 185];

/// The line where the lips meet: lower lip from the own right corner, then the upper lip back.
pub(crate) const LIPS_INNER: [usize; 20] =
    [78, 95, 88, 178, 87, 14, 317, 402, 318, 324, 308, 415, 310, 311, 312, 13, 82, 81, 80, 191];

/// Glabella: the forehead's foremost point between the brows.
pub(crate) const GLABELLA: usize = 9;
/// Sellion: the deepest point of the root of the nose.
pub(crate) const SELLION: usize = 168;
/// Menton: the lowest point of the chin.
pub(crate) const MENTON: usize = 152;
/// The two zygia, own right and own left.
pub(crate) const ZYGIA: [usize; 2] = [234, 454];
