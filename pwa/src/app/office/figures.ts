// A figure with its standard uncertainty, as the core printed both.

export function withDeviation(text: string, deviation: string): string {
  return text === '' || deviation === '' ? text : `${text} ± ${deviation}`;
}
