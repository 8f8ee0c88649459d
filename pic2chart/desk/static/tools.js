// The tools of the hand: name, word, key, and what it does.

export const TOOLS = [
  ["look", "Look", "O", "Drag to move the chart; the wheel or two fingers bring it closer."],
  ["paint", "Paint", "P", "Paint stitches; what you paint is kept when the chart is mended or made again."],
  ["line", "Line", "L", "Draw a straight line from here to there."],
  ["box", "Box", "B", "Fill a box from corner to corner."],
  ["fill", "Fill", "F", "Recolour a whole patch; in the round it runs on past the last stitch."],
  ["select", "Select", "S", "Drag over stitches, then copy, move, mirror, repeat, insert or delete."],
  ["keep", "Keep", "K", "Mark stitches that mending must not change, or let them go."],
];
