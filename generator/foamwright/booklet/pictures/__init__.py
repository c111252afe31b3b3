"""What the booklet shows: shaded pictures, line drawings, insets."""
