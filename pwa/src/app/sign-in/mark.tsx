// Mark is the sign of the house: a hopper with two layers.
export function Mark({ size = 56 }: { size?: number }) {
  return (
    <svg class="mark" width={size} height={size} viewBox="0 0 48 48" aria-hidden="true">
      <path class="mark-body" d="M6 6 H42 V28 L29 44 H19 L6 28 Z" />
      <path class="mark-virgin" d="M10 27 H38 L28 40 H20 Z" />
      <path class="mark-reclaim" d="M10 17 H38 V24 H10 Z" />
      <path class="mark-line" d="M6 6 H42 V28 L29 44 H19 L6 28 Z" />
    </svg>
  );
}
