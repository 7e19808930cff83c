import java.io.IOException;
import java.io.PrintStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeSet;
import java.util.stream.Stream;
import java.util.zip.ZipEntry;
import java.util.zip.ZipFile;
import org.jetbrains.org.objectweb.asm.ClassReader;
import org.jetbrains.org.objectweb.asm.Opcodes;
import org.jetbrains.org.objectweb.asm.tree.AbstractInsnNode;
import org.jetbrains.org.objectweb.asm.tree.ClassNode;
import org.jetbrains.org.objectweb.asm.tree.FieldInsnNode;
import org.jetbrains.org.objectweb.asm.tree.FieldNode;
import org.jetbrains.org.objectweb.asm.tree.MethodInsnNode;
import org.jetbrains.org.objectweb.asm.tree.MethodNode;
import org.jetbrains.org.objectweb.asm.tree.TypeInsnNode;

/**
 * Lists the platform members that our classes use, and those that our additions declare, one a line with tabs:
 *
 * <pre>
 * uses      CLASS  OWNER  NAME  DESCRIPTOR  guarded|bare
 * declares  CLASS  NAME   DESCRIPTOR  VALUE
 * </pre>
 *
 * A use counts as guarded if the method that has it also reads the phone's version; a class that is of a platform type
 * if every method that makes one does.
 *
 * Usage: Members OURS_FOLDER ADDITIONS_FOLDER LIBRARIES_FOLDER FRAMEWORK.jar
 */
public final class Members {
    private static final String VERSION = "android/os/Build$VERSION";
    private final Map<String, ClassNode> ours = new HashMap<>();
    private final Map<String, ClassNode> seen = new HashMap<>();
    private final Path libraries;
    private final ZipFile framework;
    private final TreeSet<String> lines = new TreeSet<>();

    private Members(Path libraries, ZipFile framework) {
        this.libraries = libraries;
        this.framework = framework;
    }

    public static void main(String[] args) throws IOException {
        try (ZipFile framework = new ZipFile(args[3])) {
            Members members = new Members(Path.of(args[2]), framework);
            for (ClassNode node : read(Path.of(args[0]))) members.ours.put(node.name, node);
            for (ClassNode node : members.ours.values()) members.uses(node);
            for (ClassNode node : read(Path.of(args[1]))) members.declares(node);
            PrintStream out = new PrintStream(System.out, false, StandardCharsets.UTF_8);
            members.lines.forEach(out::println);
            out.flush();
        }
    }

    private void uses(ClassNode node) throws IOException {
        for (MethodNode method : node.methods) {
            boolean isGuarded = readsVersion(method);
            for (AbstractInsnNode step : method.instructions) {
                if (step instanceof MethodInsnNode call) {
                    use(node, call.owner, call.name, call.desc, isGuarded);
                } else if (step instanceof FieldInsnNode field && !field.owner.equals(VERSION)) {
                    use(node, field.owner, field.name, field.desc, isGuarded);
                }
            }
        }
        List<String> types = new ArrayList<>(node.interfaces);
        types.add(node.superName);
        for (String type : types) {
            if (isPlatform(type)) line("uses", node.name, type, "class", "-", isMadeGuarded(node) ? "guarded" : "bare");
        }
    }

    /** What is called on a class of ours, or of a library, may be the platform's: its first ancestor that is. */
    private void use(ClassNode user, String owner, String name, String desc, boolean isGuarded) throws IOException {
        String at = owner;
        while (at != null && !isPlatform(at)) {
            ClassNode node = find(at);
            if (node == null || has(node, name, desc)) return;
            at = node.superName;
        }
        if (at == null) return;
        line("uses", user.name, at, name, desc, isGuarded ? "guarded" : "bare");
    }

    private void declares(ClassNode node) {
        if (node.name.startsWith("android/")) {
            for (FieldNode field : node.fields) {
                line("declares", node.name, field.name, field.desc, String.valueOf(field.value));
            }
            for (MethodNode method : node.methods) {
                // The compiler's own.
                if ((method.name + method.desc).equals("<init>()V")) continue;
                line("declares", node.name, method.name, method.desc, "-");
            }
            line("declares", node.name, "class", "-", "-");
        }
    }

    private boolean isMadeGuarded(ClassNode made) {
        boolean isMade = false;
        for (ClassNode node : ours.values()) {
            for (MethodNode method : node.methods) {
                for (AbstractInsnNode step : method.instructions) {
                    boolean makes = step.getOpcode() == Opcodes.NEW && ((TypeInsnNode) step).desc.equals(made.name);
                    if (makes && !readsVersion(method)) return false;
                    isMade |= makes;
                }
            }
        }
        return isMade;
    }

    private static boolean readsVersion(MethodNode method) {
        for (AbstractInsnNode step : method.instructions) {
            if (step instanceof FieldInsnNode field && field.owner.equals(VERSION) && field.name.equals("SDK_INT")) {
                return true;
            }
        }
        return false;
    }

    private static boolean isPlatform(String name) {
        return name.startsWith("android/");
    }

    private static boolean has(ClassNode node, String name, String desc) {
        return node.methods.stream().anyMatch(m -> m.name.equals(name) && m.desc.equals(desc))
                || node.fields.stream().anyMatch(f -> f.name.equals(name) && f.desc.equals(desc));
    }

    private ClassNode find(String name) throws IOException {
        if (ours.containsKey(name)) return ours.get(name);
        if (seen.containsKey(name)) return seen.get(name);
        Path file = libraries.resolve(name + ".class");
        ZipEntry entry = framework.getEntry(name + ".class");
        ClassNode node = null;
        if (Files.exists(file)) {
            node = node(Files.readAllBytes(file));
        } else if (entry != null) {
            node = node(framework.getInputStream(entry).readAllBytes());
        }
        seen.put(name, node);
        return node;
    }

    private static List<ClassNode> read(Path folder) throws IOException {
        try (Stream<Path> files = Files.walk(folder)) {
            return files.filter(file -> file.toString().endsWith(".class")).map(Members::node).toList();
        }
    }

    private static ClassNode node(Path file) {
        try {
            return node(Files.readAllBytes(file));
        } catch (IOException error) {
            throw new UncheckedIOException(error);
        }
    }

    private static ClassNode node(byte[] bytes) {
        ClassNode node = new ClassNode();
        new ClassReader(bytes).accept(node, ClassReader.SKIP_DEBUG | ClassReader.SKIP_FRAMES);
        return node;
    }

    private void line(String... words) {
        lines.add(String.join("\t", words));
    }
}
