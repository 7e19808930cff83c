import java.io.BufferedOutputStream;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Collections;
import java.util.HashSet;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.jar.JarOutputStream;
import java.util.stream.Stream;
import java.util.zip.ZipEntry;
import java.util.zip.ZipFile;
import org.jetbrains.org.objectweb.asm.ClassReader;
import org.jetbrains.org.objectweb.asm.ClassWriter;
import org.jetbrains.org.objectweb.asm.Opcodes;
import org.jetbrains.org.objectweb.asm.Type;
import org.jetbrains.org.objectweb.asm.tree.AbstractInsnNode;
import org.jetbrains.org.objectweb.asm.tree.ClassNode;
import org.jetbrains.org.objectweb.asm.tree.FieldNode;
import org.jetbrains.org.objectweb.asm.tree.InnerClassNode;
import org.jetbrains.org.objectweb.asm.tree.InsnList;
import org.jetbrains.org.objectweb.asm.tree.InsnNode;
import org.jetbrains.org.objectweb.asm.tree.MethodInsnNode;
import org.jetbrains.org.objectweb.asm.tree.MethodNode;
import org.jetbrains.org.objectweb.asm.tree.VarInsnNode;

/**
 * Lays our additions over the real framework jar, and makes of the result one that tests can run and replace: every
 * body answers nothing, and nothing is final.
 *
 * Usage: Framework REAL.jar ADDITIONS_FOLDER COMPILE.jar RUN.jar
 */
public final class Framework {
    public static void main(String[] args) throws IOException {
        Map<String, byte[]> added = classes(Path.of(args[1]));
        int before = added.size();
        try (ZipFile real = new ZipFile(args[0]);
                JarOutputStream compile = jar(args[2]);
                JarOutputStream run = jar(args[3])) {
            for (ZipEntry entry : Collections.list(real.entries())) {
                String name = entry.getName();
                if (!name.endsWith(".class")) continue;
                byte[] bytes = real.getInputStream(entry).readAllBytes();
                byte[] more = added.remove(name);
                if (more != null) bytes = merged(bytes, more);
                put(compile, name, bytes);
                // Java's own library is there too, an older one: what runs takes the JVM's, and org.json that works.
                if (!name.matches("(java|javax|org/json)/.*")) put(run, name, emptied(bytes));
            }
            int fresh = added.size();
            for (Map.Entry<String, byte[]> entry : added.entrySet()) {
                put(compile, entry.getKey(), entry.getValue());
                put(run, entry.getKey(), emptied(entry.getValue()));
            }
            System.out.println("framework: additions to " + (before - fresh) + " classes, " + fresh + " new ones");
        }
    }

    private static Map<String, byte[]> classes(Path folder) throws IOException {
        Map<String, byte[]> classes = new TreeMap<>();
        try (Stream<Path> files = Files.walk(folder)) {
            for (Path file : (Iterable<Path>) files::iterator) {
                String name = folder.relativize(file).toString().replace('\\', '/');
                if (name.endsWith(".class")) classes.put(name, Files.readAllBytes(file));
            }
        }
        return classes;
    }

    /** What the real class has stays as it is. A constructor without arguments is the compiler's own. */
    private static byte[] merged(byte[] real, byte[] more) {
        ClassNode base = read(real);
        ClassNode delta = read(more);
        Set<String> known = new HashSet<>();
        for (FieldNode field : base.fields) known.add(field.name);
        for (MethodNode method : base.methods) known.add(method.name + method.desc);
        for (FieldNode field : delta.fields) if (known.add(field.name)) base.fields.add(field);
        for (MethodNode method : delta.methods) {
            boolean isOwn = method.name.equals("<clinit>") || (method.name + method.desc).equals("<init>()V");
            if (!isOwn && known.add(method.name + method.desc)) base.methods.add(method);
        }
        Set<String> inner = new HashSet<>();
        for (InnerClassNode node : base.innerClasses) inner.add(node.name);
        for (InnerClassNode node : delta.innerClasses) if (inner.add(node.name)) base.innerClasses.add(node);
        base.version = Math.max(base.version, Opcodes.V1_8);
        return write(base);
    }

    private static byte[] emptied(byte[] bytes) {
        ClassNode node = new ClassNode();
        new ClassReader(bytes).accept(node, ClassReader.SKIP_FRAMES);
        // Values of an enum are made in its body, which therefore stays.
        boolean isEnum = (node.access & Opcodes.ACC_ENUM) != 0;
        if (!isEnum) node.access &= ~Opcodes.ACC_FINAL;
        for (InnerClassNode inner : node.innerClasses) inner.access &= ~Opcodes.ACC_FINAL;
        // A test may set the phone's version; an interface's fields have to be final.
        boolean isInterface = (node.access & Opcodes.ACC_INTERFACE) != 0;
        for (FieldNode field : node.fields) {
            if (field.value == null && !isInterface) field.access &= ~Opcodes.ACC_FINAL;
        }
        for (MethodNode method : node.methods) {
            if (isEnum || method.name.equals("<clinit>")) continue;
            method.access &= ~(Opcodes.ACC_FINAL | Opcodes.ACC_NATIVE);
            if ((method.access & Opcodes.ACC_ABSTRACT) == 0) empty(node, method);
        }
        return write(node);
    }

    private static void empty(ClassNode owner, MethodNode method) {
        InsnList body = new InsnList();
        int slots = 0;
        MethodInsnNode ancestor = method.name.equals("<init>") ? ancestor(owner, method) : null;
        if (ancestor != null) {
            body.add(new VarInsnNode(Opcodes.ALOAD, 0));
            for (Type argument : Type.getArgumentTypes(ancestor.desc)) {
                body.add(new InsnNode(nothing(argument)[0]));
                slots += argument.getSize();
            }
            body.add(new MethodInsnNode(Opcodes.INVOKESPECIAL, owner.superName, "<init>", ancestor.desc, false));
        }
        Type type = Type.getReturnType(method.desc);
        int[] nothing = type.getSort() == Type.VOID ? new int[] {Opcodes.RETURN} : nothing(type);
        for (int instruction : nothing) body.add(new InsnNode(instruction));
        method.instructions = body;
        method.tryCatchBlocks.clear();
        method.localVariables = null;
        method.maxStack = slots + 2;
        // Its arguments, of two slots at most, and itself.
        method.maxLocals = 1 + 2 * Type.getArgumentTypes(method.desc).length;
    }

    /** The instructions for a type's nothing, and for returning it. */
    private static int[] nothing(Type type) {
        return switch (type.getSort()) {
            case Type.LONG -> new int[] {Opcodes.LCONST_0, Opcodes.LRETURN};
            case Type.FLOAT -> new int[] {Opcodes.FCONST_0, Opcodes.FRETURN};
            case Type.DOUBLE -> new int[] {Opcodes.DCONST_0, Opcodes.DRETURN};
            case Type.OBJECT, Type.ARRAY -> new int[] {Opcodes.ACONST_NULL, Opcodes.ARETURN};
            default -> new int[] {Opcodes.ICONST_0, Opcodes.IRETURN};
        };
    }

    /** The ancestor's constructor that this one calls: it may have none without arguments. */
    private static MethodInsnNode ancestor(ClassNode owner, MethodNode method) {
        for (AbstractInsnNode step : method.instructions) {
            boolean calls = step instanceof MethodInsnNode call && call.name.equals("<init>");
            if (calls && ((MethodInsnNode) step).owner.equals(owner.superName)) return (MethodInsnNode) step;
        }
        return null;
    }

    private static ClassNode read(byte[] bytes) {
        ClassNode node = new ClassNode();
        new ClassReader(bytes).accept(node, 0);
        return node;
    }

    private static byte[] write(ClassNode node) {
        ClassWriter writer = new ClassWriter(0);
        node.accept(writer);
        return writer.toByteArray();
    }

    private static JarOutputStream jar(String path) throws IOException {
        JarOutputStream jar = new JarOutputStream(new BufferedOutputStream(Files.newOutputStream(Path.of(path))));
        // Read a few times by this check only: packing it would take longer than it saves.
        jar.setLevel(1);
        return jar;
    }

    private static void put(JarOutputStream jar, String name, byte[] bytes) throws IOException {
        jar.putNextEntry(new ZipEntry(name));
        jar.write(bytes);
        jar.closeEntry();
    }
}
