/** The steps that bring a unit into a state, one by one: they are written in a line, parted by semicolons. */
export function stepsOf(text: string): string[] {
  return text
    .split(/\s*;\s*/)
    .map((step) => step.trim())
    .filter((step) => step !== '');
}
