/** A model's name as a file bears it, and as a command line may write it: 'Quellbeck 133' is quellbeck-133. */
export function plainName(model: string): string {
  return model.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, '-');
}
